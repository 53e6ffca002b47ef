#include "service/http/entries.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

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

Result<District> read_entry(std::string_view member, const json::value& entry) {
  const json::value document{{std::string(member), json::array{entry}}};
  auto read = parse_district(json_text(document), "body");
  if (read) return read;
  Errors errors = read.errors();
  const std::string place = "/" + std::string(member) + "/0";
  for (Error& error : errors)
    if (error.where.starts_with(place)) error.where.erase(0, place.size());
  return errors;
}

bool may_see_entry(const Call& call, const json::value& body) {
  if (call.actor.districts.empty()) return true;
  const auto* object = body.if_object();
  const json::value* scope = object ? object->if_contains("scope") : nullptr;
  const json::value& about = scope ? *scope : body;
  if (const std::string district = text_member(about, "district"); !district.empty()) return call.may_see(district);
  if (const std::string airshed = text_member(about, "airshed"); !airshed.empty())
    return std::any_of(call.picture->districts.begin(), call.picture->districts.end(), [&](const auto& entry) {
      const std::vector<core::Airshed>& all = entry.second.district.means.means.airsheds;
      return call.may_see(entry.first) &&
             std::any_of(all.begin(), all.end(), [&](const core::Airshed& one) { return one.id == airshed; });
    });
  const std::string id = text_member(about, "unit");
  if (id.empty()) return true;  // a station's
  const UnitView* view = unit_or_retired(*call.picture, id);
  return view && call.may_see(view->unit.district);
}

const UnitView* unit_or_retired(const Snapshot& picture, std::string_view id) { return picture.unit_or_retired(id); }

bool is_served_member(std::string_view name) {
  constexpr std::array<std::string_view, 5> kServed{"id", "revision", "run", "freshness", "caution"};
  return std::find(kServed.begin(), kServed.end(), name) != kServed.end();
}

void refuse_the_future(const std::optional<UtcTime>& time, std::string where, UtcTime now, Errors& mistakes) {
  constexpr std::chrono::minutes kClocksDiffer{10};
  if (time && *time > now + kClocksDiffer)
    mistakes.push_back({ErrorKind::invalid, "in_the_future", std::move(where),
                        fmt::format("{} is still to come", utc_text(*time)), "write when it was"});
}

}  // namespace hakea::service
