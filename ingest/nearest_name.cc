#include "ingest/nearest_name.h"

#include <algorithm>
#include <vector>

namespace hakea::ingest {
namespace {

// Optimal string alignment (Damerau 1964).
std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = i;
  for (std::size_t j = 0; j <= b.size(); ++j) d[0][j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i)
    for (std::size_t j = 1; j <= b.size(); ++j) {
      d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (a[i - 1] != b[j - 1])});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
    }
  return d[a.size()][b.size()];
}

}  // namespace

std::string nearest_name(std::string_view name, std::span<const std::string> known) {
  std::string best;
  if (name.size() > 200) return best;
  std::size_t least = std::max<std::size_t>(2, name.size() / 3) + 1;
  for (const std::string& k : known)
    if (const std::size_t d = distance(name, k); d < least) {
      least = d;
      best = k;
    }
  return best;
}

}  // namespace hakea::ingest
