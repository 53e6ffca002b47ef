// Instants, hours and local dates.
//
// Everything is computed in UTC. An hour is named by its start: hour t is [t, t + 1 h); instants are taken at its start,
// amounts and extremes are those of that hour. Local dates and clock times come from a TimeZone (zone.h), which is data.
#pragma once

#include <chrono>
#include <compare>
#include <cstdint>

namespace hakea {

using UtcTime = std::chrono::sys_seconds;
using LocalDate = std::chrono::local_days;
using LocalTime = std::chrono::local_seconds;

// A whole hour of UTC, counted from 1970-01-01T00Z.
struct UtcHour {
  std::int32_t count = 0;

  static constexpr UtcHour of(UtcTime t) {
    return {static_cast<std::int32_t>(std::chrono::floor<std::chrono::hours>(t.time_since_epoch()).count())};
  }
  constexpr UtcTime start() const { return UtcTime(std::chrono::hours(count)); }
  constexpr UtcTime end() const { return UtcTime(std::chrono::hours(count + 1)); }

  friend constexpr auto operator<=>(UtcHour, UtcHour) = default;
  friend constexpr UtcHour operator+(UtcHour h, int n) { return {h.count + n}; }
  friend constexpr UtcHour operator-(UtcHour h, int n) { return {h.count - n}; }
  friend constexpr int operator-(UtcHour a, UtcHour b) { return a.count - b.count; }
};

}  // namespace hakea
