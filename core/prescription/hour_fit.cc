#include "core/prescription/hour_fit.h"

#include <algorithm>
#include <cmath>

namespace hakea::core {
namespace {

double as_float32(double v) { return static_cast<double>(static_cast<float>(v)); }

double clockwise(double from, double to) {
  const double turn = std::fmod(to - from, 360.0);
  return turn < 0 ? turn + 360.0 : turn;
}

// The forecast error or near distance that belongs to a bound.
double distance_of(double amount, bool is_share, double bound) { return is_share ? amount * std::abs(bound) : amount; }

}  // namespace

RangeTest::RangeTest(const Range& acceptable) {
  constexpr float kInfinite = std::numeric_limits<float>::infinity();
  const auto inside = [](const std::optional<Bound>& bound, float beyond) {
    if (!bound) return static_cast<double>(-beyond);
    const auto value = static_cast<float>(bound->value);
    return static_cast<double>(bound->open ? std::nextafter(value, beyond) : value);
  };
  lowest_ = inside(acceptable.lower, kInfinite);
  highest_ = inside(acceptable.upper, -kInfinite);
}

Fit sector_fit(const std::vector<Sector>& sectors, float direction_deg, float speed_kmh, double lightest_kmh,
               bool is_out_of_domain) {
  if (!std::isnan(speed_kmh) && static_cast<double>(speed_kmh) < as_float32(lightest_kmh)) return Fit::out;
  if (std::isnan(direction_deg)) return Fit::unknown;
  const double d = static_cast<double>(direction_deg);
  const bool is_inside = std::any_of(sectors.begin(), sectors.end(), [d](const Sector& s) {
    const double from = as_float32(s.from);
    return clockwise(from, d) <= clockwise(from, as_float32(s.to));
  });
  if (!is_inside) return Fit::out;
  return std::isnan(speed_kmh) || is_out_of_domain ? Fit::unknown : Fit::in;
}

Margin range_margin(const Range& acceptable, const QuantityRow& quantity, double value) {
  Margin margin;
  if (std::isnan(value)) return margin;
  const auto take = [&](double own, double bound) {
    const double error = distance_of(quantity.forecast_error, quantity.near_is_share, bound);
    if (std::isnan(margin.own) || own < margin.own) margin.own = own;
    if (error > 0 && (std::isnan(margin.errors) || own / error < margin.errors)) margin.errors = own / error;
  };
  if (acceptable.lower) take(value - as_float32(acceptable.lower->value), acceptable.lower->value);
  if (acceptable.upper) take(as_float32(acceptable.upper->value) - value, acceptable.upper->value);
  return margin;
}

Margin sector_margin(const std::vector<Sector>& sectors, const QuantityRow& quantity, double direction_deg) {
  Margin margin;
  if (std::isnan(direction_deg)) return margin;
  for (const Sector& s : sectors) {
    const double width = clockwise(s.from, s.to);
    const double along = clockwise(s.from, direction_deg);
    const double own = along <= width ? std::min(along, width - along) : -std::min(along - width, 360.0 - along);
    if (std::isnan(margin.own) || own > margin.own) margin.own = own;
  }
  if (quantity.forecast_error > 0) margin.errors = margin.own / quantity.forecast_error;
  return margin;
}

double satisfaction(const Limit& limit, double value) {
  if (std::isnan(value)) return value;
  const auto outside = [&](double beyond, const std::optional<Bound>& preferred, const std::optional<Bound>& acceptable) {
    if (!acceptable) return 0.5;
    const double width = std::abs(as_float32(preferred->value) - as_float32(acceptable->value));
    return width > 0 ? std::max(0.0, 1.0 - 0.5 * beyond / width) : 0.0;
  };
  const Range& preferred = limit.preferred;
  if (preferred.lower && value < as_float32(preferred.lower->value))
    return outside(as_float32(preferred.lower->value) - value, preferred.lower, limit.acceptable.lower);
  if (preferred.upper && value > as_float32(preferred.upper->value))
    return outside(value - as_float32(preferred.upper->value), preferred.upper, limit.acceptable.upper);
  return 1.0;
}

std::optional<Limit> widened(const Limit& limit, const QuantityRow& quantity) {
  if (quantity.near <= 0) return std::nullopt;
  Limit wide = limit;
  if (wide.acceptable.lower)
    wide.acceptable.lower->value -= distance_of(quantity.near, quantity.near_is_share, wide.acceptable.lower->value);
  if (wide.acceptable.upper)
    wide.acceptable.upper->value += distance_of(quantity.near, quantity.near_is_share, wide.acceptable.upper->value);
  for (Sector& s : wide.sectors) {
    const double width = clockwise(s.from, s.to) + 2 * quantity.near;
    s = width >= 360 ? Sector{0, 359.999} : Sector{clockwise(0, s.from - quantity.near), clockwise(0, s.to + quantity.near)};
  }
  return wide;
}

Limit narrowed(const Limit& limit, const QuantityRow& quantity, double errors) {
  Limit narrow = limit;
  const auto shift = [&](double bound) { return errors * distance_of(quantity.forecast_error, quantity.near_is_share, bound); };
  if (narrow.acceptable.lower) narrow.acceptable.lower->value += shift(narrow.acceptable.lower->value);
  if (narrow.acceptable.upper) narrow.acceptable.upper->value -= shift(narrow.acceptable.upper->value);
  for (Sector& s : narrow.sectors) {
    const double inwards = std::min(shift(1), clockwise(s.from, s.to) / 2);
    s = {clockwise(0, s.from + inwards), clockwise(0, s.to - inwards)};
  }
  return narrow;
}

}  // namespace hakea::core
