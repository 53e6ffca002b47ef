// Times as files write them: "UNITS" or "UNITS|CALENDAR", and the same text as a date.
#include <cmath>

#include "ingest/cf/time_axis.h"
#include "tests/fuzz/fuzz.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace hakea;
  const std::string_view text = test::as_text(data, size);
  const std::string_view units = text.substr(0, text.find('|'));
  const std::string_view calendar = units.size() == text.size() ? "" : text.substr(units.size() + 1);
  if (const auto unit = ingest::parse_time_unit(units, calendar)) {
    test::must(std::isfinite(unit->seconds) && unit->seconds > 0, "a unit of time has a length");
    const double nan = std::nan("");
    for (const bool single : {false, true})
      for (const auto& time : ingest::decode_times({0, 1, -1.5, 1e9, 1e300, -1e300, HUGE_VAL, nan}, *unit, single))
        if (time) (void)ingest::utc_text(*time);
    const auto none = ingest::decode_times({nan}, *unit, false);
    test::must(none.size() == 1 && !none.front(), "no number is no time");
  } else {
    test::must(!unit.error().code.empty() && !unit.error().what.empty(), "a refusal says something");
  }
  if (const auto seconds = ingest::seconds_of_unit(units))
    test::must(std::isfinite(*seconds) && *seconds > 0, "a unit of time has a length");
  for (const bool mixed : {false, true})
    if (const auto time = ingest::parse_instant(units, mixed)) {
      const std::string written = ingest::utc_text(*time);
      const auto again = ingest::parse_instant(written, false);
      // Years of more than four digits are written as they are, and read by nobody.
      if (written.size() == 20) test::must(again && *again == *time, "a time that is written reads back the same");
    }
  return 0;
}
