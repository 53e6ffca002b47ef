// Texts and bytes with wounds of the kinds that editors, networks and people make; the same ones for the same seed.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <random>
#include <string>
#include <string_view>

namespace hakea::test {

class Damage {
 public:
  explicit Damage(const std::string& seed_text) {
    std::seed_seq seed(seed_text.begin(), seed_text.end());
    random_.seed(seed);
  }

  // With one to four wounds.
  std::string of(std::string text) {
    for (std::size_t wounds = 1 + below(4); wounds > 0; --wounds) {
      const std::size_t at = below(text.size() + 1);
      const std::size_t length = std::min(below(20), text.size() - at);
      switch (below(7)) {
        case 0: text.erase(at, length); break;
        case 1: text.insert(at, text.substr(at, length)); break;
        case 2: text.insert(at, 1, static_cast<char>(below(256))); break;
        case 3: text.resize(at); break;
        case 4: text.replace(at, length, kOddWords[below(kOddWords.size())]); break;
        case 5: std::fill_n(text.begin() + static_cast<std::ptrdiff_t>(at), length, below(2) == 0 ? '\0' : '\xff'); break;
        default:
          if (at < text.size()) text[at] = static_cast<char>(text[at] ^ (1 << below(8)));
      }
    }
    return text;
  }

  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random_); }

 private:
  static constexpr std::array<std::string_view, 32> kOddWords = {"",
                                                                 "null",
                                                                 "1e999",
                                                                 "-1e-999",
                                                                 "NaN",
                                                                 "9223372036854775808",
                                                                 "\"",
                                                                 "{",
                                                                 "}",
                                                                 "[[[[[[[[",
                                                                 "]",
                                                                 ",",
                                                                 ":",
                                                                 "-",
                                                                 "2027-02-30",
                                                                 "24:01",
                                                                 "0000-00-00T00:00:00Z",
                                                                 "\\u0000",
                                                                 "\xff\xfe",
                                                                 "-0",
                                                                 "true",
                                                                 "%",
                                                                 "[Cel]",
                                                                 "1970-01-01",
                                                                 "99999999999999999999",
                                                                 "\n",
                                                                 "=",
                                                                 "#",
                                                                 "//",
                                                                 " since ",
                                                                 "**-2",
                                                                 "+14:00"};

  std::mt19937_64 random_;
};

}  // namespace hakea::test
