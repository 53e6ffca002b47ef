// What fuzz targets share. A target is a program of its own: LLVMFuzzerTestOneInput() in fuzz_<what>.cc, which ends the program
// when what must hold of any input does not, and the driver that calls it (DEVELOPERS.md says how to run one).
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string_view>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace hakea::test {

inline std::string_view as_text(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

inline void must(bool holds, const char* what) {
  if (holds) return;
  std::fprintf(stderr, "what must hold does not: %s\n", what);
  std::abort();
}

}  // namespace hakea::test
