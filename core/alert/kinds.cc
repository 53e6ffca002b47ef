#include "core/alert/kinds.h"

#include <algorithm>
#include <array>

namespace hakea::core {
namespace {

constexpr std::array kKinds = [] {
  using enum AlertKind;
  return std::array{
      AlertKindRow{open_burn_danger, "open_burn.danger.v1", true, true, true, "Dangerous weather for an open burn"},
      AlertKindRow{booking_window_lost, "booking.window_lost.v1", true, true, true, "Booked window lost"},
      AlertKindRow{booking_wind_shift, "booking.wind_shift.v1", true, true, true, "Wind change at a booked burn"},
      AlertKindRow{booking_closes_earlier, "booking.closes_earlier.v1", true, true, true, "Booked window closes earlier"},
      AlertKindRow{window_opened, "window.opened.v1", false, true, true, "Window opened"},
      AlertKindRow{window_changed, "window.changed.v1", false, true, true, "Window changed"},
      AlertKindRow{window_lost, "window.lost.v1", false, true, true, "Window lost"},
      AlertKindRow{notice_due, "notice.due.v1", false, true, true, "Notice due"},
      AlertKindRow{booking_night_smoke, "booking.night_smoke.v1", false, true, true, "Smoke may pool in the night after"},
      AlertKindRow{booking_tail_fails, "booking.tail_fails.v1", true, true, true, "Night or days after a booked burn fail"},
      AlertKindRow{feed_late, "feed.late.v1", false, true, true, "Forecast late"},
      AlertKindRow{feed_recovered, "feed.recovered.v1", false, true, true, "Forecast current again"},
      AlertKindRow{run_incomplete, "run.incomplete.v1", false, true, true, "Forecast run incomplete"},
      AlertKindRow{booking_rain, "booking.rain.v1", false, true, true, "Rain before a booked burn"},
      AlertKindRow{district_short_of_crews, "district.short_of_crews.v1", false, true, true, "More units than crews"},
      AlertKindRow{window_rare, "window.rare.v1", false, true, true, "Rare window"},
      AlertKindRow{digest_daily, "digest.daily.v1", false, true, true, "Digest", true},
      AlertKindRow{run_published, "run.published.v1", false, false, true, "Run published"},
      AlertKindRow{subscription_failing, "subscription.failing.v1", true, true, false, "A subscription cannot be reached"},
      AlertKindRow{subscription_test, "subscription.test.v1", true, true, false, "Test message"},
  };
}();
// row_of() finds a row by its place.
static_assert([] {
  for (std::size_t i = 0; i < kKinds.size(); ++i)
    if (kKinds[i].kind != static_cast<AlertKind>(i)) return false;
  return kKinds.back().kind == AlertKind::subscription_test;
}());

}  // namespace

std::span<const AlertKindRow> alert_kinds() { return kKinds; }

const AlertKindRow& row_of(AlertKind kind) { return kKinds.at(static_cast<std::size_t>(kind)); }

std::optional<AlertKind> alert_kind(std::string_view type) {
  const auto found = std::find_if(kKinds.begin(), kKinds.end(), [&](const AlertKindRow& row) { return row.type == type; });
  return found == kKinds.end() ? std::nullopt : std::optional(found->kind);
}

bool names_type(std::string_view pattern, std::string_view type) {
  if (pattern == "*") return true;
  if (pattern.ends_with(".*")) return type.starts_with(pattern.substr(0, pattern.size() - 1));
  return pattern == type;
}

bool names_any_type(std::string_view pattern) {
  return std::any_of(kKinds.begin(), kKinds.end(),
                     [&](const AlertKindRow& row) { return row.is_chosen && names_type(pattern, row.type); });
}

}  // namespace hakea::core
