// Times as text: RFC 3339 for machines, days and clock times for people.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "core/base/zone.h"

namespace hakea::service {

class JsonWriter;

std::string date_text(LocalDate date);                     // 2027-04-02
std::string utc_text(UtcTime t);                           // 2027-04-01T23:00:00Z
std::string local_text(UtcTime t, const TimeZone& zone);   // 2027-04-02T10:00:00+11:00
std::string offset_text(UtcTime t, const TimeZone& zone);  // +11:00
std::string clock_text(UtcTime t, const TimeZone& zone);   // 10:00
std::string day_name(LocalDate date);                      // Fri 2 Apr
std::string http_date(UtcTime t);                          // Thu, 01 Apr 2027 23:00:00 GMT (RFC 9110 §5.6.7)

// A member of an object: an instant in UTC, null for none.
void write_time(JsonWriter& out, std::string_view name, const std::optional<UtcTime>& t);

}  // namespace hakea::service
