// Names and words as files spell them.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>

namespace hakea::ingest {

// ASCII only, whatever the locale.
inline std::string lower(std::string_view text) {
  std::string s(text);
  std::transform(s.begin(), s.end(), s.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return s;
}

}  // namespace hakea::ingest
