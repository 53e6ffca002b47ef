// What a district has to burn with, and what a burn takes of it (INTERFACE §2 `needs`, §7 `/districts`).
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/base/great_circle.h"
#include "core/base/time.h"
#include "core/base/zone.h"
#include "core/prescription/hour_fit.h"

namespace hakea::core {

// What a burn of a unit takes. Crews, tankers, aircraft and plant are taken on each of its burn days, patrol crews on each
// of the `patrol_days` dates after the last of them. `travel_h`: from its depot to the unit. Without a depot those of any
// travel so long.
struct Needs {
  int crews = 0, tankers = 0, aircraft = 0, plant = 0;
  std::string depot;
  double travel_h = 0;
  int patrol_crews = 0, patrol_days = 0;
};

using DepotPlace = GlobePlace;

struct Depot {
  std::string id, name;
  std::optional<DepotPlace> place;  // without one it lends nothing and is lent nothing: nobody knows how far it is
  int crews = 0, tankers = 0, plant = 0;
};

// What may be lit at a time in an area that shares its smoke; nothing where there is no cap.
struct Airshed {
  std::string id, name;
  std::optional<int> burns_per_day;
  std::optional<double> area_ha_per_day;
};

// Crews that stay free for wildfire. `quiet`: whether the district's danger stays below what calls for them on a date. On a
// date that is not quiet, is unknown or is not listed they stay free: an unknown danger never counts as none.
struct Readiness {
  int free_crews = 0;
  std::map<LocalDate, Fit> quiet;
  std::map<LocalDate, std::string> danger;  // what is known of it in words, such as "FFDI 45 at Sawpit Ridge"; for the reason
};

struct Means {
  std::vector<Depot> depots;
  int aircraft = 0;  // shared by all
  Readiness readiness;
  std::vector<Airshed> airsheds;
  // The local time from which crews are at their depots. No source; half an hour after the morning's look at the digest.
  ClockTime crews_from{7 * 60};
};

// Before crews can light: an hour of briefing on the ground ("1 to 1.5 h" with travel is common practice, no source).
inline constexpr double kBriefing_h = 1;
// From depot to depot, in a straight line. Common practice, no source.
inline constexpr double kRoad_kmh = 60;

}  // namespace hakea::core
