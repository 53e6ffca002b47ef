// The beginning of a forecast file: whether it is whole. The input is taken for a file, and for the beginning of a very long
// one, so that what is counted from its header is counted to the end.
#include <cstring>

#include "ingest/format/whole_file.h"
#include "tests/fuzz/fuzz.h"

namespace hakea::test {
namespace {

std::string finding(std::string_view bytes, std::uint64_t size) {
  const auto read = [bytes](std::uint64_t at, void* to, std::size_t wanted) -> std::size_t {
    if (at >= bytes.size()) return 0;
    const std::size_t got = std::min(wanted, bytes.size() - static_cast<std::size_t>(at));
    std::memcpy(to, bytes.data() + at, got);
    return got;
  };
  const auto kind = ingest::check_whole(read, size, "file");
  if (kind) return "whole";
  must(!kind.error().code.empty() && !kind.error().what.empty() && !kind.error().hint.empty(), "a refusal says something");
  return kind.error().code;
}

}  // namespace
}  // namespace hakea::test

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace hakea::test;
  const std::string_view bytes = as_text(data, size);
  const std::string here = finding(bytes, size);
  must(finding(bytes, size) == here, "the same bytes give the same answer");
  finding(bytes, size + (std::uint64_t{1} << 50));
  // A classic or HDF5 file that is whole stays so with something behind it.
  if (here == "whole" && bytes.find("GRIB") == std::string_view::npos)
    must(finding(bytes, size + 1) == "whole", "a longer file is no less whole");
  return 0;
}
