// What a district has to burn with, as people write it: the members `depots shared readiness airsheds` of its document
// (INTERFACE §7).
#pragma once

#include <optional>

#include "core/plan/means.h"
#include "core/prescription/prescription.h"
#include "service/input/json.h"

namespace hakea::service {

// `readiness.quiet` and `.danger` stay empty: they are told of a picture's weather.
struct DistrictMeans {
  core::Means means;
  // The `same_day` limit that is kept on dates without the danger on which crews stay free: `when` {min: 24} is "below 24"
  // here.
  std::optional<core::Limit> quiet;
};

// The members of an object that tell of means, put over those known: of a depot or airshed that is known by its id the
// members given are new, another is added. Mistakes are those of the object; other members of it are the caller's.
void read_means(JsonObject& object, DistrictMeans& known);

}  // namespace hakea::service
