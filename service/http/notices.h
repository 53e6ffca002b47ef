// Notices of a booking: those given, and by when one is due (INTERFACE §3 "Notice").
#pragma once

#include <string>

#include "service/input/district_json.h"
#include "service/input/json.h"

namespace hakea::service {

// Who enters notices, when and for which dates.
struct NoticeEntry {
  std::string by;
  UtcTime now{};
  const TimeZone& zone;
  LocalDate date{};
  int burn_days = 1;  // from that date on
};
// Fills what the notices of a booking leave out: given now, by the caller, for all its burn days.
void complete_notices(json::value& booking, const NoticeEntry& entry, Errors& mistakes);

// {"notice":{"days","due_by","given","overdue"}}; null where the unit needs none.
std::string notice_json(const Unit& unit, const Booking& booking, UtcTime now);

}  // namespace hakea::service
