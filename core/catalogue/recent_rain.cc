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
  }

  struct Rain {
    double mm;
    Reason why = Reason::none;
  };
  // Nothing where nobody says.
  std::optional<Rain> at(UtcHour hour) const {
    if (hour >= hours_.first && hour < hours_.end()) {
      const auto i = static_cast<std::size_t>(hour - hours_.first);
      return Rain{static_cast<double>(rain_[i]), rain_.why(i)};
    }
    const int ago = carried_end_ - hour;
    if (hour >= hours_.first || ago < 1 || ago > static_cast<int>(carried_.size())) return std::nullopt;
    const double mm = carried_[carried_.size() - static_cast<std::size_t>(ago)];
    return Rain{mm, std::isnan(mm) ? Reason::gap : Reason::none};
  }

 private:
  const UnitHours& hours_;
  const Column& rain_;
  std::span<const double> carried_;
  UtcHour carried_end_{};
};

}  // namespace

Column rain_of_two_days(const UnitHours& hours) {
  const RainByHour rain(hours);
  const Column& since = hours["hours_since_rain"];
  Column out(hours.hours, Reason::gap);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour now = hours.first + static_cast<int>(i);
    double sum = 0;
    Reason why = Reason::none;
    bool is_known = true;
    for (UtcHour hour = now - kRecentRainHours; hour < now; hour = hour + 1) {
      const auto fell = rain.at(hour);
      is_known = is_known && (fell || (!since.is_missing(i) && since[i] >= static_cast<float>(now - hour)));
      if (!fell) continue;
      if (fell->why != Reason::none) why = fell->why;
      sum += fell->mm;
    }
    if (why != Reason::none)
      out.set_missing(i, why);
    else
      out.set(i, sum, is_known ? std::uint8_t{0} : flag::kSpinUp);
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
