// What a fire would do in each hour, by the unit's own fuel.
#pragma once

#include "core/catalogue/unit_hours.h"

namespace hakea::core {

void compute_rate_of_spread(UnitHours& hours);
void compute_fireline_intensity(UnitHours& hours);
void compute_flame_length(UnitHours& hours);
void compute_flame_height(UnitHours& hours);
void compute_scorch_height(UnitHours& hours);

}  // namespace hakea::core
