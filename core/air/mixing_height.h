// How deep the air mixes above the ground, and by which method that was found.
//
// On one stable night the published definitions give 18 to 270 m, so a mixing height is nothing without its method.
#pragma once

#include <cstdint>
#include <span>

#include "core/air/profile.h"

namespace hakea::core {

// ---- The methods. Heights and theta_v from the ground up; index 0 is the 2 m point. Result NaN where there is none.

// Parcel method: Holzworth (1964), Mon. Wea. Rev. 92, 235-242; (1967), J. Appl. Meteor. 6, 1039-1044. The lowest height at
// which theta_v reaches the parcel's, linear in height between levels; 0 when already the first level is as warm.
struct ParcelHeight {
  Metres height;
  Metres highest;         // the highest crossing of several
  bool at_least = false;  // not reached below the top level, whose height is given
};
ParcelHeight parcel_height(std::span<const double> height_m, std::span<const double> theta_v_k, Kelvin parcel_theta_v);

// Bulk Richardson number from index 0 up, linear between levels:
// Ri = (g/theta_vs) (theta_v - theta_vs) (z - z_s) / ((u-u_s)^2 + (v-v_s)^2 + floor).
struct RichardsonForm {
  double critical = 0.25;
  bool shear_from_reference = false;  // else u_s = v_s = 0
  double friction_term = 0;           // b u*^2, m2 s-2, added to the wind's square
};
// (a) of Seibert et al. (2000), Atmos. Environ. 34, 1001-1027; the default. The wind's square is at least 0.01 m2 s-2.
inline constexpr RichardsonForm kSurfaceForm{};
// (b') Vogelezang & Holtslag (1996), Bound.-Layer Meteor. 81, 245-269, as operated: b = 100, u* = 0.1 m/s, plus 0.01^2.
inline constexpr RichardsonForm kOperationalForm{0.25, true, 1.0001};

struct RichardsonHeight {
  Metres height;
  bool at_least = false;
  bool below_lowest_level = false;  // found between the ground and the first level, where it is an artefact of the spacing
};
RichardsonHeight bulk_richardson_height(std::span<const double> height_m, std::span<const double> theta_v_k,
                                        std::span<const double> u_ms, std::span<const double> v_ms,
                                        const RichardsonForm& form = kSurfaceForm);

// Friction velocity from the neutral logarithmic profile, k u / ln(z/z0).
MetresPerSecond neutral_friction_velocity(MetresPerSecond wind, Metres height, Metres roughness);

// Friction velocity of a stable surface layer from wind and cloud: theta* = 0.09 (1 - 0.5 n^2) K and the quadratic for u* of
// the EPA's meteorological preprocessor (AERMET model formulation, EPA-454/B-16-014; Hanna & Chang 1993). Undefined in a
// calm. Its limit on the heat loss does not enter here: only u* is used.
struct StableLayer {
  MetresPerSecond friction_velocity;
  double theta_star_k;
};
StableLayer stable_surface_layer(MetresPerSecond wind, Metres height, Metres roughness, double cloud_fraction,
                                 Kelvin temperature);

// Mechanical mixing, 2300 u*^1.5 m, at most 4000 m: Venkatram (1980), Bound.-Layer Meteor. 19, 481-485, as in AERMET.
Metres mechanical_height(MetresPerSecond friction_velocity);
// Neutral limit 0.3 u*/|f|, as in the EPA screening model SCREEN3 (h = 320 u10 at 40 degrees with u* = 0.1 u10).
// Missing within 5 degrees of the equator.
Metres neutral_limit(MetresPerSecond friction_velocity, Degrees latitude);

// ---- The decision.

enum class MixingMethod : std::uint8_t { none, model, parcel, bulk_richardson, mechanical };
std::string_view word(MixingMethod method);

struct MixingHeight {
  Metres height;  // above the model's ground
  MixingMethod method = MixingMethod::none;
  bool methods_disagree = false;  // parcel and model differ by more than half of the larger and 300 m: the smaller stands
  bool at_least = false;          // mixed beyond the top level
  bool below_lowest_level = false;
  Metres highest = Metres::missing();  // parcel: the highest of several crossings
};

// With at least four levels below 3 km: by day (sun above 5 degrees) over heated ground (theta_v at 2 m at least that of
// the lowest level) the parcel method. Otherwise the feed's own height; without one bulk Richardson, which by night, when
// it falls below the lowest level, gives way to mechanical mixing. Neither levels nor a feed's height: missing.
// `column` is null where there is none that can be used. Decision order: common practice, no source.
MixingHeight mixing_height(const AirColumn* column, const SurfaceAir& surface);

}  // namespace hakea::core
