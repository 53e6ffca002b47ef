// What can be told: the one list of kinds of event. Everything else walks it.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace hakea::core {

// In the order in which a message tells them.
enum class AlertKind : std::uint8_t {
  open_burn_danger,
  booking_window_lost,
  booking_wind_shift,
  booking_closes_earlier,
  window_opened,
  window_changed,
  window_lost,
  notice_due,
  booking_night_smoke,
  booking_tail_fails,
  feed_late,
  feed_recovered,
  run_incomplete,
  booking_rain,
  district_short_of_crews,
  window_rare,
  digest_daily,
  run_published,
  subscription_failing,
  subscription_test
};

struct AlertKindRow {
  AlertKind kind;
  std::string_view type;  // its name outside: "window.opened.v1"
  bool is_urgent;         // told in quiet hours and beyond the daily cap
  bool is_for_people;     // not by e-mail otherwise
  bool is_chosen;         // by subscriptions; the others go to the owner of a subscription alone
  std::string_view title;
  bool is_by_name = false;  // "*" does not ask for it: it comes whether anything happened or not
};

std::span<const AlertKindRow> alert_kinds();
const AlertKindRow& row_of(AlertKind kind);
std::optional<AlertKind> alert_kind(std::string_view type);

// Whether a pattern names a type: the type itself, the beginning of some ("window.*"), or all ("*").
bool names_type(std::string_view pattern, std::string_view type);
// Whether it names any that can be chosen.
bool names_any_type(std::string_view pattern);

}  // namespace hakea::core
