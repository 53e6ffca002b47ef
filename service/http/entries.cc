#include "service/http/entries.h"

#include <fmt/format.h>

#include <algorithm>

#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {

json::value body_of(const Entry& entry) {
  auto body = parse_json(entry.body, entry.id);
  return body ? *std::move(body) : json::value();
}

FoundEntry find_entry(const Call& call, EntryKind kind, std::string_view what) {
  const std::string& id = call.ids.front();
  auto stored = call.parts.store->entry(kind, id);
  if (!stored) return {{}, call.store_failed(stored.error())};
  if (!*stored || (*stored)->is_withdrawn) return {{}, call.not_found(what, id)};
  if (!may_see_entry(call, body_of(**stored))) return {{}, call.other_district()};
  return {std::move(**stored), {}};
}

Result<District> read_at(std::string_view place, const json::value& document) {
  auto read = parse_district(json_text(document), "body");
  if (read) return read;
  Errors errors = read.errors();
  for (Error& error : errors)
    if (error.where.starts_with(place)) error.where.erase(0, place.size());
  return errors;
}

Result<District> read_entry(std::string_view member, const json::value& entry) {
  return read_at(fmt::format("/{}/0", member), json::value{{std::string(member), json::array{entry}}});
}

const json::value& what_about(const json::value& body) {
  const auto* object = body.if_object();
  const json::value* scope = object ? object->if_contains("scope") : nullptr;
  return scope ? *scope : body;
}

bool is_of_district(const Snapshot& picture, const json::value& body, std::string_view district) {
  const json::value& about = what_about(body);
  if (const std::string named = text_member(about, "district"); !named.empty()) return named == district;
  if (const std::string airshed = text_member(about, "airshed"); !airshed.empty()) {
    const auto found = picture.districts.find(district);
    if (found == picture.districts.end()) return false;
    const std::vector<core::Airshed>& all = found->second.district.means.means.airsheds;
    return std::any_of(all.begin(), all.end(), [&](const core::Airshed& one) { return one.id == airshed; });
  }
  const UnitView* view = picture.unit_or_retired(text_member(about, "unit"));
  return view && view->unit.district == district;
}

bool may_see_entry(const Call& call, const json::value& body) {
  const std::set<std::string>& own = call.actor.districts;
  if (own.empty()) return true;
  const json::value& about = what_about(body);
  const bool is_of_station =
      text_member(about, "district").empty() && text_member(about, "airshed").empty() && text_member(about, "unit").empty();
  return is_of_station || std::any_of(own.begin(), own.end(),
                                      [&](const std::string& district) { return is_of_district(*call.picture, body, district); });
}

bool is_served_member(std::string_view name) {
  return name == "id" || std::find(kServedMembers.begin(), kServedMembers.end(), name) != kServedMembers.end();
}

void refuse_the_future(const std::optional<UtcTime>& time, std::string where, UtcTime now, Errors& mistakes) {
  constexpr std::chrono::minutes kClocksDiffer{10};
  if (time && *time > now + kClocksDiffer)
    mistakes.push_back({ErrorKind::invalid, "in_the_future", std::move(where),
                        fmt::format("{} is still to come", utc_text(*time)), "write when it was"});
}

}  // namespace hakea::service
