// Units booked for one date in one airshed: their smoke adds up where it meets.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/engine/snapshot.h"

namespace hakea::service {

struct SharedSmoke {
  std::string airshed;
  std::vector<const UnitView*> units;  // whose smoke reaches the receptor in that hour, at least two
  std::string receptor;                // its name
  UtcHour at;
  double ug_m3 = 0;
  bool in_domain = true;
};

// For each airshed with several of the units: the receptor of any of them, and the hour, where the smoke of two or more
// together is thickest - of each unit in the windows of its date and, smouldering, in the night after. Units without a
// window add nothing. A screening, within a factor of ten.
std::vector<SharedSmoke> shared_smoke(const std::vector<const UnitView*>& booked, LocalDate date);

}  // namespace hakea::service
