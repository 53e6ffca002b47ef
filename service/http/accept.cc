#include "service/http/accept.h"

#include <cstdlib>
#include <vector>

#include "core/base/words.h"

namespace hakea::service {
namespace {

std::vector<std::string_view> split(std::string_view text, char at) {
  std::vector<std::string_view> parts;
  while (true) {
    const std::size_t end = text.find(at);
    parts.push_back(trimmed(text.substr(0, end)));
    if (end == std::string_view::npos) return parts;
    text.remove_prefix(end + 1);
  }
}

struct Range {
  std::string_view type;
  double weight = 1;
};

std::vector<Range> ranges(std::string_view accept) {
  std::vector<Range> found;
  for (const std::string_view item : split(accept, ',')) {
    const std::vector<std::string_view> parts = split(item, ';');
    Range range{parts.front()};
    for (std::size_t i = 1; i < parts.size(); ++i)
      if (parts[i].starts_with("q=")) range.weight = std::strtod(std::string(parts[i].substr(2)).c_str(), nullptr);
    if (!range.type.empty()) found.push_back(range);
  }
  return found;
}

// How exactly a range names a type: 0 not at all, 3 in full.
int exactness(std::string_view range, std::string_view type) {
  if (range == type) return 3;
  if (range.ends_with("/*") && range != "*/*" && type.starts_with(range.substr(0, range.size() - 1))) return 2;
  return range == "*/*" ? 1 : 0;
}

}  // namespace

std::string_view type_alone(std::string_view content_type) { return content_type.substr(0, content_type.find_first_of("; ")); }

std::optional<std::string> best_type(std::string_view accept, std::string_view offered) {
  const std::vector<std::string_view> types = words(offered);
  const std::vector<Range> wanted = ranges(accept);
  if (wanted.empty()) return std::string(types.front());
  std::optional<std::string> best;
  double best_weight = 0;
  for (const std::string_view type : types) {
    int most_exact = 0;
    double weight = 0;  // of the range that names the type most exactly
    for (const Range& range : wanted)
      if (const int exact = exactness(range.type, type); exact > most_exact) {
        most_exact = exact;
        weight = range.weight;
      }
    if (weight > best_weight) {
      best = std::string(type);
      best_weight = weight;
    }
  }
  return best;
}

}  // namespace hakea::service
