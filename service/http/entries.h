// What handlers of bookings, stops and observations share: finding an entry, reading it as the service judges it.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "service/http/call.h"
#include "service/input/district_json.h"

namespace hakea::service {

// The entry at the path's id, also when it has not been judged yet, or the answer that refuses it.
struct FoundEntry {
  std::optional<Entry> entry;
  Response refused;
};
FoundEntry find_entry(const Call& call, EntryKind kind, std::string_view what);

// The body of an entry as a document; null where it is none.
json::value body_of(const Entry& entry);
// What stands at `place` of a district's document, as the service reads it when it judges. Mistakes with pointers from there on.
Result<District> read_at(std::string_view place, const json::value& document);
// One stop or booking read so: `member` is "stops" or "bookings".
Result<District> read_entry(std::string_view member, const json::value& entry);

// What of an entry names the unit, airshed or district that it is about: the scope of a stop, else the entry itself.
const json::value& what_about(const json::value& body);
// Whether it is of a district, by that.
bool is_of_district(const Snapshot& picture, const json::value& body, std::string_view district);
// Whether a token's districts hold what an entry is about; a station is of none.
bool may_see_entry(const Call& call, const json::value& body);

// Members that answers add to an entry.
bool is_served_member(std::string_view name);

// A time that people say something happened may not lie ahead, but for clocks that differ a little.
void refuse_the_future(const std::optional<UtcTime>& time, std::string where, UtcTime now, Errors& mistakes);

}  // namespace hakea::service
