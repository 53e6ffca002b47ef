// Where a value meets a limit: the only place.
//
// Every comparison answers in, out or unknown. What is known of a value is the span of numbers it can be: a single number,
// from a number upwards (`at_least`, or a sum with missing hours), or anything (missing). In means the whole span is in, out
// means the whole span is out. Values and bounds are compared as float32, so that the number shown is the number that
// decides. A number computed outside its model's published domain may fail a limit but never passes one.
#pragma once

#include <limits>
#include <optional>

#include "core/catalogue/catalogue.h"
#include "core/prescription/prescription.h"
#include "core/weather/column.h"

namespace hakea::core {

enum class Fit : std::uint8_t { out, unknown, in };  // in the order from worst to best

struct Possible {
  double lowest = -std::numeric_limits<double>::infinity();
  double highest = std::numeric_limits<double>::infinity();
  bool is_out_of_domain = false;
  static Possible exactly(double v) { return {v, v}; }
  static Possible at_least(double v) { return {v, std::numeric_limits<double>::infinity()}; }
  static Possible at_most(double v) { return {-std::numeric_limits<double>::infinity(), v}; }
};

// What an hour's value can be, from the value and its flags; NaN can be anything.
Possible possible(float value, std::uint8_t flags);

Fit range_fit(const Range& acceptable, Possible value);

// A direction in permitted sectors. A wind lighter than `lightest_kmh` has no direction and is out of any sector; a
// direction out of every sector is out even when the speed is missing. `is_out_of_domain`: of either of the two.
Fit sector_fit(const std::vector<Sector>& sectors, float direction_deg, float speed_kmh, double lightest_kmh,
               bool is_out_of_domain = false);

// Distance to the nearest bound, in the quantity's own unit and in forecast errors; negative outside; NaN where missing,
// or where the limit has no bound. For sectors: degrees to the nearest end.
struct Margin {
  double own = std::numeric_limits<double>::quiet_NaN();
  double errors = std::numeric_limits<double>::quiet_NaN();
};
Margin range_margin(const Range& acceptable, const QuantityRow& quantity, double value);
Margin sector_margin(const std::vector<Sector>& sectors, const QuantityRow& quantity, double direction_deg);

// 1 inside the preferred range, falling linearly to 0.5 at the acceptable bound and on along the same line, not under 0.
// Without an acceptable bound on that side: 0.5. NaN where the value is missing.
double satisfaction(const Limit& limit, double value);

// The limit with its bounds moved apart by the quantity's `near`; nothing when that is 0.
std::optional<Limit> widened(const Limit& limit, const QuantityRow& quantity);

// The limit with its bounds moved together by a share of the quantity's forecast error; as it is where that has none. A range
// that this turns round is in for no value.
Limit narrowed(const Limit& limit, const QuantityRow& quantity, double errors);

}  // namespace hakea::core
