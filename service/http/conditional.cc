#include "service/http/conditional.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/words.h"

namespace hakea::service {
namespace {

constexpr std::string_view kCompressed = "-gz";
constexpr std::chrono::minutes kValid{15};

// Tags of a header, without blanks. Ours hold no comma.
std::vector<std::string_view> tags_in(std::string_view header) {
  std::vector<std::string_view> tags = words(header, ',');
  for (std::string_view& tag : tags) tag = trimmed(tag);
  return tags;
}

// A tag for the weak comparison, which is that of If-None-Match.
std::string_view without_weakness(std::string_view tag) { return tag.starts_with("W/") ? tag.substr(2) : tag; }

// What tells answers of one path apart: parameters in any order, the form, the districts of a token.
std::string asked(const Call& call) {
  std::vector<std::pair<std::string, std::string>> query = call.request.query;
  std::sort(query.begin(), query.end());
  std::string text = call.request.path + '\n' + call.type;
  for (const auto& [name, value] : query) text += fmt::format("\n{}={}", name, value);
  for (const std::string& district : call.actor.districts) text += "\r" + district;
  return text;
}

}  // namespace

Result<std::optional<Rests>> rests_on(const Call& call, RestsOn what) {
  if (what == RestsOn::nothing || !call.picture) return std::optional<Rests>();
  const Snapshot& picture = *call.picture;
  std::string entered;
  if (what == RestsOn::entries) {
    const auto last = call.parts.store->last_change();
    if (!last) return last.errors();
    entered = fmt::format("-a{:x}", *last);
  }
  const auto quarter = call.now.time_since_epoch() / kValid;
  // Not the time it was made: a clock that is set, as the demo's, comes by one time twice.
  std::string state = fmt::format("p{}-{:08x}{}-t{:x}", picture.number, call.parts.answers->beginning(), entered, quarter);
  return std::optional(Rests{std::move(state), asked(call)});
}

std::string Rests::tag() const { return fmt::format("{}-{:016x}", state, std::hash<std::string>()(asked)); }

std::string tag_of(std::string_view of_revision, std::string_view rests) {
  if (of_revision.size() < 2) return fmt::format("\"{}\"", rests);
  return fmt::format("{}.{}\"", of_revision.substr(0, of_revision.size() - 1), rests);
}

std::string compressed_tag(std::string_view tag) { return fmt::format("{}{}\"", tag.substr(0, tag.size() - 1), kCompressed); }

std::optional<std::string> known_tag(std::string_view if_none_match, std::string_view rests, bool also_compressed) {
  for (const std::string_view tag : tags_in(if_none_match)) {
    std::string_view plain = without_weakness(tag);
    if (plain.size() < 2 || !plain.starts_with('"') || !plain.ends_with('"')) continue;
    const std::string whole(plain);
    plain = plain.substr(1, plain.size() - 2);
    if (also_compressed && plain.ends_with(kCompressed)) plain.remove_suffix(kCompressed.size());
    if (!plain.ends_with(rests)) continue;
    plain.remove_suffix(rests.size());
    const bool is_revision = plain.size() > 2 && plain.starts_with('r') && plain.ends_with('.') &&
                             plain.find_first_not_of("0123456789", 1) == plain.size() - 1;
    if (plain.empty() || is_revision) return whole;
  }
  return std::nullopt;
}

bool names_tag(std::string_view if_none_match, std::string_view tag) {
  const auto tags = tags_in(if_none_match);
  return std::any_of(tags.begin(), tags.end(),
                     [&](std::string_view known) { return known == "*" || without_weakness(known) == tag; });
}

bool names_revision(std::string_view if_match, int revision) {
  const std::string begin = fmt::format("\"r{}", revision);
  const auto tags = tags_in(if_match);
  return std::any_of(tags.begin(), tags.end(), [&](std::string_view tag) {
    return tag == "*" || (tag.starts_with(begin) && tag.size() > begin.size() && tag.ends_with('"') &&
                          std::string_view("\".-").find(tag[begin.size()]) != std::string_view::npos);
  });
}

}  // namespace hakea::service
