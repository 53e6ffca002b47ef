// Texts taken apart, trimmed and put into small letters.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

namespace hakea {

// Words separated by blanks, as the catalogue lists inputs, or by another separator. Empty ones are left out.
inline std::vector<std::string_view> words(std::string_view text, char separator = ' ') {
  std::vector<std::string_view> list;
  for (std::size_t at = 0; (at = text.find_first_not_of(separator, at)) != std::string_view::npos;) {
    const std::size_t end = std::min(text.find(separator, at), text.size());
    list.push_back(text.substr(at, end - at));
    at = end;
  }
  return list;
}

// In small letters: of ASCII only, whatever the locale.
inline std::string lower(std::string_view text) {
  std::string small(text);
  for (char& c : small)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return small;
}

// Without what of `blanks` stands around it.
inline std::string_view trimmed(std::string_view text, std::string_view blanks = " \t") {
  text.remove_prefix(std::min(text.find_first_not_of(blanks), text.size()));
  return text.substr(0, text.find_last_not_of(blanks) + 1);
}

}  // namespace hakea
