// Filling a row's column from the columns before it.
#pragma once

#include <string_view>

#include "core/catalogue/catalogue.h"

namespace hakea::core {

// What a model says of one hour.
struct HourValue {
  double value;
  bool in_domain = true;
};

// How a value came about stays with what is computed from it; that it was read, or is a lower bound, does not.
constexpr std::uint8_t inherited(std::uint8_t flags) {
  return flags & (flag::kInterpolated | flag::kSpinUp | flag::kOutOfDomain);
}

// out[i] = model(inputs[i]...) for every hour; missing for the reason of the first missing input.
template <class Model, class... Columns>
void derive(Column& out, Model model, const Columns&... inputs) {
  for (std::size_t i = 0; i < out.size(); ++i) {
    Reason why = Reason::none;
    ((why == Reason::none && inputs.is_missing(i) ? void(why = inputs.why(i)) : void()), ...);
    if (why != Reason::none) {
      out.set_missing(i, why);
      continue;
    }
    const HourValue hour = model(static_cast<double>(inputs[i])...);
    const auto flags = static_cast<std::uint8_t>((inherited(inputs.flags(i)) | ... | (hour.in_domain ? 0 : flag::kOutOfDomain)));
    out.set(i, hour.value, flags);
  }
}

// The clock of each hour's start in local standard time, in hours.
Column local_clock(const UnitHours& hours);

inline void fill_missing(Column& out, Reason why) { out = Column(out.size(), why); }

// The readings of a quantity, or null where there are none.
inline const Column* readings_of(const UnitHours& hours, std::string_view key) {
  const Column& entered = hours.readings[quantity_index(key)];
  return entered.empty() ? nullptr : &entered;
}

// Daily readings stand from their hour to the next hour in which the quantity is determined: 09:00 or noon local standard
// time. They are put over what the column holds.
void overlay_daily_readings(UnitHours& hours, std::string_view key, std::chrono::hours determined_at);

}  // namespace hakea::core
