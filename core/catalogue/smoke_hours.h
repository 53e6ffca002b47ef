// A unit's burn and the air that its smoke meets, hour by hour.
#pragma once

#include <optional>

#include "core/air/smoke.h"
#include "core/catalogue/unit_hours.h"

namespace hakea::core {

// None where area or load of the unit is not known.
std::optional<Burn> burn_of(const UnitTraits& unit);

class SmokeHours {
 public:
  explicit SmokeHours(const UnitHours& hours);  // which must outlive it, with the rows of the air computed

  // Every hour in turn: a night knows when it began. Why the smoke of the hour is not known, or none.
  Reason move_to(std::size_t i);

  SmokeAir air;
  std::uint8_t flags = 0;    // of the values that `air` was made of
  bool is_at_least = false;  // by night without a direction of the wind: who else lies under it is not known

 private:
  const Column &wind_, &wind_from_, &transport_, &transport_from_, &mixing_, &stability_, &temperature_, &sun_;
};

}  // namespace hakea::core
