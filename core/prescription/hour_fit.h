// Where a value meets a limit: the only place.
//
// Every comparison answers in, out or unknown. What is known of a value is the span of numbers it can be: a single number,
// from a number upwards (`at_least`, or a sum with missing hours), or anything (missing). In means the whole span is in, out
// means the whole span is out. Values and bounds are compared as float32, so that the number shown is the number that
// decides. A number computed outside its model's published domain may fail a limit but never passes one.
#pragma once

#include <cmath>
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
inline Possible possible(float value, std::uint8_t flags) {
  if (std::isnan(value)) return {};
  const auto v = static_cast<double>(value);
  Possible p = (flags & flag::kAtLeast) ? Possible::at_least(v) : Possible::exactly(v);
  p.is_out_of_domain = flags & flag::kOutOfDomain;
  return p;
}

// A range held against many values, which are float32 whatever holds them.
class RangeTest {
 public:
  explicit RangeTest(const Range& acceptable);
  Fit operator()(const Possible& value) const {
    if (!is_above(value.highest) || !is_below(value.lowest)) return Fit::out;
    const bool is_in = is_above(value.lowest) && is_below(value.highest);
    return is_in && !value.is_out_of_domain ? Fit::in : Fit::unknown;
  }
  // Of a number that is known and inside its model's domain.
  Fit of_number(float v) const {
    const auto number = static_cast<double>(v);
    return is_above(number) && is_below(number) ? Fit::in : Fit::out;
  }

 private:
  // An open bound is the next float32 inside it.
  bool is_above(double v) const { return v >= lowest_; }
  bool is_below(double v) const { return v <= highest_; }
  double lowest_, highest_;  // infinite where there is no bound
};
inline Fit range_fit(const Range& acceptable, const Possible& value) { return RangeTest(acceptable)(value); }

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
