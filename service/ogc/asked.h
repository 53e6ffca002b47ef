// Where and when is asked for, in the words of OGC API: `datetime`, `coords`, `crs`, `parameter-name` (`bbox` is
// everybody's: service/http/box.h).
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "service/http/call.h"
#include "service/input/unit_json.h"

namespace hakea::service {

inline constexpr std::string_view kCrs84 = "http://www.opengis.net/def/crs/OGC/1.3/CRS84";

// Both ends are included; equal for an instant.
struct TimeSpan {
  std::optional<UtcTime> from, to;
  // Whether [begin, end) has an instant of it.
  bool touches(UtcTime begin, UtcTime end) const { return (!to || *to >= begin) && (!from || *from < end); }
  // The end for those who exclude it: times are whole seconds.
  std::optional<UtcTime> before() const { return to ? std::optional(*to + std::chrono::seconds(1)) : std::nullopt; }
};

// Mistakes are added, `where` "?NAME". Without the parameter: all time.
TimeSpan query_time_span(const Call& call, Errors& mistakes);
// POINT(longitude latitude), which must be there.
std::optional<Position> query_point(const Call& call, Errors& mistakes);
// There is one reference system only; another is a mistake.
void check_crs(const Call& call, Errors& mistakes);
// The quantities named, of those offered, each once; all of them when none is named.
struct NamedQuantities {
  std::vector<std::size_t> quantities;
  bool fit = false;  // the unit's fit by hour too
};
NamedQuantities query_quantities(const Call& call, const std::vector<std::size_t>& offered, bool has_fit, Errors& mistakes);

}  // namespace hakea::service
