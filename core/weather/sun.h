// Where the sun stands, when it rises and sets, and how much of it reaches a slope.
//
// Position: the low-precision series of Meeus (Astronomical Algorithms) in the widely circulated spreadsheet form; within
// 0.016 degrees of the NREL Solar Position Algorithm (Reda & Andreas 2004) from 2000 to 2050. Elevation is geometric,
// without refraction; azimuth from north, clockwise.
#pragma once

#include <optional>

#include "core/base/quantity.h"
#include "core/base/time.h"

namespace hakea::core {

// What the sun's place depends on apart from where one stands.
struct Ephemeris {
  double declination_rad;
  double equation_of_time_min;
  double distance_au;
};
Ephemeris ephemeris(UtcTime t);

struct SunPosition {
  Degrees elevation, azimuth;
  double distance_au;
};
SunPosition sun_position(UtcTime t, double latitude_deg, double longitude_deg);

// The same along many hours of one place: the ephemeris is taken at midnights UTC and is linear between them, which moves
// the sun by less than 0.002 degrees and does not depend on where a record begins.
class SunTrack {
 public:
  SunTrack(double latitude_deg, double longitude_deg);
  SunPosition at(UtcTime t);
  Degrees elevation_at(UtcTime t) { return elevation(moment(t)); }  // the same elevation, for a third less
  // What an instant says to all places, so that many of them need not find it again.
  struct Moment {
    double sin_declination, cos_declination, minutes;  // of the sun's time at Greenwich
  };
  Moment moment(UtcTime t);
  Degrees elevation(const Moment& moment) const;

 private:
  Ephemeris interpolated(UtcTime t);

  double sin_latitude_, cos_latitude_, longitude_deg_;
  UtcTime midnight_ = UtcTime::min();
  Ephemeris today_{}, tomorrow_{};
};

// Apparent less geometric elevation in the standard atmosphere (spreadsheet form of NOAA's solar calculator).
Degrees refraction(Degrees elevation);

// When the sun's centre rises above a horizon, and sinks below it, on a local date (not on a UTC date: east of Greenwich that
// gives another day's sunrise, west of it another day's sunset). Nothing where it does not cross it on that date.
inline constexpr Degrees kSunriseHorizon{-0.8333};  // 34' of refraction, 16' of the sun's radius
std::optional<UtcTime> sunrise(LocalDate date, double latitude_deg, double longitude_deg, Degrees horizon = kSunriseHorizon);
std::optional<UtcTime> sunset(LocalDate date, double latitude_deg, double longitude_deg, Degrees horizon = kSunriseHorizon);

// Irradiance on a level plane under a clear sky: Haurwitz (1945), J. Meteor. 2, 154-166; elevation is apparent. 0 at night.
WattsPerSquareMetre clear_sky_irradiance(Degrees apparent_elevation);
// What share of it comes through a cover of cloud (0..1): 1 - 0.75 n^3.4, Kasten & Czeplak (1980), Solar Energy 24, 177-189
// [from memory].
double share_through_cloud(double cover);

// Irradiance outside the atmosphere on a plane facing the sun: 1361 W/m2 over the distance squared.
WattsPerSquareMetre extraterrestrial_irradiance(double distance_au);

// Splits irradiance on a level plane: Erbs, Klein & Duffie (1982), Solar Energy 28, 293-302.
struct SplitIrradiance {
  WattsPerSquareMetre beam_normal, diffuse;
  double clearness;
};
SplitIrradiance split_irradiance(WattsPerSquareMetre global, Degrees elevation, WattsPerSquareMetre extraterrestrial);

struct Slope {
  Degrees angle, aspect;  // the way it faces, downslope, from north clockwise
};
// Cosine of the angle between the sun and the normal of a slope; negative behind it.
double incidence_cosine(const SunPosition& sun, Slope slope);
// Irradiance on a slope: beam, isotropic sky (Liu & Jordan 1960) and ground of albedo 0.2.
WattsPerSquareMetre slope_irradiance(WattsPerSquareMetre global, const SunPosition& sun, Slope slope);
// Without the beam: what reaches a slope in the shade of a ridge or a trunk.
WattsPerSquareMetre shaded_irradiance(WattsPerSquareMetre global, const SunPosition& sun, Slope slope);

}  // namespace hakea::core
