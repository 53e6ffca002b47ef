// The known word that a mistyped one was most likely meant to be.
#pragma once

#include <algorithm>
#include <numeric>
#include <string_view>
#include <vector>

namespace hakea {

// Levenshtein distance, letter by letter.
inline std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replaced = diagonal + (a[i - 1] != b[j - 1]);
      diagonal = row[j];
      row[j] = std::min({row[j] + 1, row[j - 1] + 1, replaced});
    }
  }
  return row[b.size()];
}

// Empty when none is near: a word begun and left off, or one with at most half of its letters wrong.
template <class Words>
std::string_view nearest(std::string_view word, const Words& known) {
  std::string_view best;
  std::size_t fewest = word.size() / 2 + 1;
  for (const std::string_view candidate : known) {
    const bool is_begun = word.size() >= 3 && (candidate.starts_with(word) || candidate.ends_with(word));
    const std::size_t distance = is_begun ? 1 : edit_distance(word, candidate);
    if (distance < fewest) {
      fewest = distance;
      best = candidate;
    }
  }
  return best;
}

}  // namespace hakea
