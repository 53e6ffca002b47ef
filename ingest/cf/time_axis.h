// Times as files write them: "hours since 1900-01-01 00:00:00.0" and all its cousins (CF 4.4; atmosphere.md 7.1.1-7.1.3).
//
// Read by our own parser: UDUNITS accepts 30 February and knows no calendars. Only the calendars of real weather are taken.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"

namespace hakea::ingest {

struct TimeUnit {
  double seconds = 1;           // of one unit
  UtcTime epoch{};              // the instant of zero, already in UTC
  bool mixed_calendar = false;  // Julian before 15 October 1582 (CF "standard"), which matters only for times before it
};

// Errors: not_a_time_unit ("K"), unknown_unit ("months since …": not a fixed length), bad_date, calendar (named).
Result<TimeUnit> parse_time_unit(std::string_view units, std::string_view calendar);

// Seconds of "hours", "h", "day" … ; nullopt for what is no fixed length of time.
std::optional<double> seconds_of_unit(std::string_view word);

// A date and time as in time units and global attributes: "1992-10-08 09:15:42.5-06", "2012-05-15T12:00:00Z",
// "2005-08-28_12:00:00", "20170101". Without a zone it is UTC.
std::optional<UtcTime> parse_instant(std::string_view text, bool mixed_calendar = false);

// Decodes numbers to instants, rounding away the noise of the number type: float32 hours since 1900 stand 7.5 minutes
// apart. NaN becomes nullopt.
std::vector<std::optional<UtcTime>> decode_times(const std::vector<double>& numbers, const TimeUnit& unit, bool single_precision);

// "2026-01-02T09:00:00Z"
std::string utc_text(UtcTime t);

}  // namespace hakea::ingest
