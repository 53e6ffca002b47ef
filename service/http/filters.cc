#include "service/http/filters.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/words.h"
#include "service/http/entries.h"

namespace hakea::service {

EntryFilter::EntryFilter(const Call& call, Errors& mistakes)
    : call_(call), district_(call.query("district")), since_(query_instant(call, "updated_since", mistakes)) {}

bool EntryFilter::takes(const Entry& entry, const json::value& body) const {
  return (!since_ || entry.at >= *since_) && (!district_ || is_of_district(*call_.picture, body, *district_));
}

bool is_of_district(const Snapshot& picture, const json::value& body, std::string_view district) {
  const auto* object = body.if_object();
  const json::value* scope = object ? object->if_contains("scope") : nullptr;
  const json::value& about = scope ? *scope : body;
  if (const std::string named = text_member(about, "district"); !named.empty()) return named == district;
  if (const std::string airshed = text_member(about, "airshed"); !airshed.empty()) {
    const auto found = picture.districts.find(district);
    if (found == picture.districts.end()) return false;
    const std::vector<std::string> ids = airsheds_of(found->second);
    return std::find(ids.begin(), ids.end(), airshed) != ids.end();
  }
  const UnitView* view = unit_or_retired(picture, text_member(about, "unit"));
  return view && view->unit.district == district;
}

}  // namespace hakea::service
