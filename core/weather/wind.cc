#include "core/weather/wind.h"

#include <algorithm>
#include <cmath>

#include "core/base/numbers.h"

namespace hakea::core {
namespace {

constexpr double kCalm = 0.05 * 3.6;  // km/h

double direction_from(double east, double north) {
  const double d = std::atan2(-east, -north) / kDegree;
  return d <= 0 ? d + 360 : d;
}

}  // namespace

WindVector components(Wind wind) {
  const double s = wind.speed.value(), d = wind.from.value() * kDegree;
  return {KilometresPerHour(-s * std::sin(d)), KilometresPerHour(-s * std::cos(d))};
}

KilometresPerHour speed_of(WindVector v) { return KilometresPerHour(std::hypot(v.eastward.value(), v.northward.value())); }

Wind wind_of(WindVector v) {
  const double east = v.eastward.value(), north = v.northward.value(), speed = speed_of(v).value();
  if (speed < kCalm) return {KilometresPerHour(speed), Degrees(0)};
  return {KilometresPerHour(speed), Degrees(direction_from(east, north))};
}

Wind turned(Wind wind, Degrees clockwise) {
  if (wind.from.value() == 0) return wind;
  const double from = std::fmod(wind.from.value() + clockwise.value() + 720.0, 360.0);
  return {wind.speed, Degrees(from == 0 ? 360 : from)};
}

Degrees turn(Degrees a, Degrees b) { return Degrees(std::abs(std::remainder(a.value() - b.value(), 360.0))); }

Degrees largest_turn(Degrees now, Degrees one_hour_before, Degrees two_hours_before) {
  const double first = turn(now, one_hour_before).value(), second = turn(now, two_hours_before).value();
  if (std::isnan(first) || std::isnan(second)) return Degrees::missing();
  return Degrees(std::max(first, second));
}

Wind vector_mean(std::span<const Wind> winds) {
  double east = 0, north = 0;
  for (const Wind& w : winds) {
    const WindVector v = components(w);
    east += v.eastward.value();
    north += v.northward.value();
  }
  const auto n = static_cast<double>(winds.size());
  return wind_of({KilometresPerHour(east / n), KilometresPerHour(north / n)});
}

DirectionStatistics direction_statistics(std::span<const Degrees> directions) {
  double east = 0, north = 0;
  for (const Degrees d : directions) {
    east += std::sin(d.value() * kDegree);
    north += std::cos(d.value() * kDegree);
  }
  const auto n = static_cast<double>(directions.size());
  const double r = std::min(std::hypot(east / n, north / n), 1.0);
  const double epsilon = std::sqrt(1 - r * r);
  const double yamartino = std::asin(epsilon) * (1 + (2 / std::sqrt(3.0) - 1) * epsilon * epsilon * epsilon);
  const double mean = std::atan2(east, north) / kDegree;
  return {Degrees(mean < 0 ? mean + 360 : mean), r, Degrees(yamartino / kDegree), Degrees(std::sqrt(-2 * std::log(r)) / kDegree)};
}

}  // namespace hakea::core
