#include "core/catalogue/recent_rain.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace hakea::core {
namespace {

// Rain hour by hour, from the record or else the state before it.
class RainByHour {
 public:
  explicit RainByHour(const UnitHours& hours) : hours_(hours), rain_(hours["precipitation_amount"]) {
    if (!hours.initial_state) return;
    carried_ = hours.initial_state->recent_rain_mm;
    carried_end_ = first_hour_from(hours.unit->zone.rain_day_end(hours.initial_state->as_of));
    if (carried_.empty()) entered_ = hours.initial_state->last_rain;
  }

  struct Rain {
    double mm;
    Reason why = Reason::none;
    bool is_assumed = false;
  };
  // Nothing where nobody says.
  std::optional<Rain> at(UtcHour hour) const {
    if (hour >= hours_.first && hour < hours_.end()) {
      const auto i = static_cast<std::size_t>(hour - hours_.first);
      return Rain{static_cast<double>(rain_[i]), rain_.why(i)};
    }
    const int ago = carried_end_ - hour;
    if (entered_ && ago >= 1) {  // as if all of it fell in its last hour, and nothing in the two days before
      const bool is_its_last = hour.start() < entered_->ended && hour.end() >= entered_->ended;
      return Rain{is_its_last ? entered_->amount.value() : 0, Reason::none, hour.end() < entered_->ended};
    }
    if (hour >= hours_.first || ago < 1 || ago > static_cast<int>(carried_.size())) return std::nullopt;
    const double mm = carried_[carried_.size() - static_cast<std::size_t>(ago)];
    return Rain{mm, std::isnan(mm) ? Reason::gap : Reason::none};
  }

 private:
  const UnitHours& hours_;
  const Column& rain_;
  std::span<const double> carried_;
  UtcHour carried_end_{};
  std::optional<RainEvent> entered_;
};

}  // namespace

RainOfTwoDays rain_of_two_days(const UnitHours& hours) {
  const RainByHour rain(hours);
  const Column& since = hours["hours_since_rain"];
  RainOfTwoDays out{Column(hours.hours, Reason::gap), Column(hours.hours, Reason::gap)};
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour now = hours.first + static_cast<int>(i);
    double sum = 0;
    int since_end = kRecentRainHours;
    Reason why = Reason::none;
    bool is_assumed = false;
    for (UtcHour hour = now - kRecentRainHours; hour < now; hour = hour + 1) {
      const auto fell = rain.at(hour);
      if (!fell) {
        // Before all that is known: dry if the last rain ended earlier.
        if (since.is_missing(i) || since[i] < static_cast<float>(now - hour)) why = Reason::no_state;
        continue;
      }
      if (fell->why != Reason::none) why = fell->why;
      is_assumed = is_assumed || fell->is_assumed;
      sum += fell->mm;
      if (fell->mm > 0) since_end = now - hour - 1;
    }
    if (why != Reason::none) {
      out.amount.set_missing(i, why);
      out.since_end.set_missing(i, why);
    } else {
      out.amount.set(i, sum, is_assumed ? flag::kSpinUp : std::uint8_t{0});
      out.since_end.set(i, since_end);
    }
  }
  return out;
}

void hand_on_recent_rain(const UnitHours& hours, UtcHour until, WetnessState& carried) {
  carried.recent_rain_mm.clear();
  const MoistureModel model = hours.unit->fuel.moisture_model;
  if (model != MoistureModel::heath && model != MoistureModel::mallee_heath && model != MoistureModel::buttongrass) return;
  const RainByHour rain(hours);
  for (UtcHour hour = until - kRecentRainHours; hour < until; hour = hour + 1) {
    const auto fell = rain.at(hour);
    if (!fell)
      carried.recent_rain_mm.clear();  // only what is known up to now
    else
      carried.recent_rain_mm.push_back(fell->why == Reason::none ? fell->mm : std::numeric_limits<double>::quiet_NaN());
  }
}

}  // namespace hakea::core
