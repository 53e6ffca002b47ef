// Wind as speed and direction, as components, and averages of it.
//
// Directions say where the wind comes from, degrees from true north, clockwise. They are never compared or averaged as
// plain numbers. Formulas: WMO-No. 8; statistics of directions: Yamartino (1984), J. Climate Appl. Meteor. 23, 1362-1366,
// and Mardia (1972), as given in EPA-454/R-99-005 section 6.
#pragma once

#include <span>

#include "core/base/quantity.h"

namespace hakea::core {

struct WindVector {
  KilometresPerHour eastward, northward;
};

struct Wind {
  KilometresPerHour speed;
  Degrees from;
};

WindVector components(Wind wind);
// 360 for a wind from due north, 0 only for calm (under 0.05 m/s), as observers report.
KilometresPerHour speed_of(WindVector components);
Wind wind_of(WindVector components);

// The same wind with its direction counted from another north: `clockwise` is added. Calm stays calm, north is 360.
Wind turned(Wind wind, Degrees clockwise);

// The angle between two directions, 0 to 180.
Degrees turn(Degrees a, Degrees b);

// The largest turn between `now` and either of two earlier directions; missing if one of the three is.
Degrees largest_turn(Degrees now, Degrees one_hour_before, Degrees two_hours_before);

// Mean of the wind as a vector: for transport. Its speed is at most the mean of the speeds.
Wind vector_mean(std::span<const Wind> winds);

struct DirectionStatistics {
  Degrees mean;              // of unit vectors
  double resultant;          // length of their mean, 1 = all alike, 0 = no direction
  Degrees deviation;         // Yamartino (1984)
  Degrees mardia_deviation;  // sqrt(-2 ln resultant)
};
DirectionStatistics direction_statistics(std::span<const Degrees> directions);

}  // namespace hakea::core
