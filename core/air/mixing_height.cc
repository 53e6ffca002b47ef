#include "core/air/mixing_height.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/air/inversion.h"
#include "core/air/thermo.h"
#include "core/base/numbers.h"
#include "core/base/result.h"

namespace hakea::core {
namespace {

constexpr double kVonKarman = 0.4;
constexpr std::size_t kLevelsNeeded = 4;
constexpr Metres kLevelsBelow{3000};
constexpr double kDaySun = 5;  // degrees
constexpr double kDisagreeShare = 0.5, kDisagreeMetres = 300;
constexpr Metres kRoughness{0.1};   // low shrub; a forest's would overstate calm nights
constexpr double kNightFloor = 50;  // m
// The local night inversion of terrain that favours one is at most so deep: Ferguson et al. (2003), USDA PNW-RP-550.
constexpr double kCalmNightCap = 150;
constexpr double kStrongInversion = 2, kLightWind = 2;  // K, m/s

bool is_day(const SurfaceAir& s) { return s.solar_elevation.value() > kDaySun; }

bool is_heated(const AirColumn& c) { return c.theta_v_k[0] >= c.theta_v_k[1]; }

// Mechanical mixing by night: the lower of Venkatram's height and the neutral limit, at least 50 m, no higher than an inversion
// on the ground and than the lowest level, under which it was found to lie. Every hour by itself: the smoothing with which
// AERMET keeps a dying wind's depth for a while would only give more air to the smoke.
Metres night_height(const AirColumn& column, const SurfaceAir& surface) {
  const MetresPerSecond wind = to<MetresPerSecond>(surface.wind_speed);
  const SurfaceInversion inversion = surface_inversion(column);
  const bool cloud_known = !surface.cloud.is_missing();
  const MetresPerSecond friction = cloud_known ? stable_surface_layer(wind, Metres(10), kRoughness, surface.cloud.value() / 100,
                                                                      to<Kelvin>(surface.temperature))
                                                     .friction_velocity
                                               : neutral_friction_velocity(wind, Metres(10), kRoughness);
  double h = wind.value() == 0 ? 0 : mechanical_height(friction).value();
  const double limit = neutral_limit(friction, surface.latitude).value();
  if (limit < h) h = limit;
  if (!cloud_known && inversion.strength_k >= kStrongInversion && wind.value() < kLightWind) h = std::min(h, kCalmNightCap);
  if (std::isnan(h)) return Metres(kNaN);
  h = std::max(h, kNightFloor);
  if (inversion.is_present()) h = std::min(h, inversion.top.value());
  return Metres(std::min(h, column.height_m[1]));
}

}  // namespace

ParcelHeight parcel_height(std::span<const double> z, std::span<const double> theta, Kelvin parcel) {
  HAKEA_EXPECT(z.size() == theta.size());
  if (z.size() < 2) return {};
  const double p = parcel.value();
  ParcelHeight found;
  double lowest = kNaN, highest = kNaN;
  for (std::size_t i = 1; i < z.size(); ++i) {
    if (!(std::isfinite(theta[i]) && std::isfinite(theta[i - 1]))) return {};
    const bool below = theta[i - 1] < p;
    if (theta[i] >= p && (below || i == 1)) {
      highest = below ? std::lerp(z[i - 1], z[i], (p - theta[i - 1]) / (theta[i] - theta[i - 1])) : 0;
      if (std::isnan(lowest)) lowest = highest;
    }
  }
  if (theta.back() < p) {
    highest = z.back();
    if (std::isnan(lowest)) {
      lowest = z.back();
      found.at_least = true;
    }
  }
  found.height = Metres(std::isnan(p) ? kNaN : lowest);
  found.highest = Metres(std::isnan(p) ? kNaN : highest);
  return found;
}

RichardsonHeight bulk_richardson_height(std::span<const double> z, std::span<const double> theta, std::span<const double> u,
                                        std::span<const double> v, const RichardsonForm& form) {
  HAKEA_EXPECT(z.size() == theta.size() && z.size() == u.size() && z.size() == v.size());
  constexpr double kFloor = 0.01;
  if (z.size() < 2) return {};
  const double us = form.shear_from_reference ? u[0] : 0, vs = form.shear_from_reference ? v[0] : 0;
  double below = 0;
  for (std::size_t i = 1; i < z.size(); ++i) {
    const double shear = std::max((u[i] - us) * (u[i] - us) + (v[i] - vs) * (v[i] - vs) + form.friction_term, kFloor);
    const double ri = kGravity / theta[0] * (theta[i] - theta[0]) * (z[i] - z[0]) / shear;
    if (std::isnan(ri) || std::isnan(u[i]) || std::isnan(v[i])) return {};
    if (ri >= form.critical) return {Metres(std::lerp(z[i - 1], z[i], (form.critical - below) / (ri - below))), false, i == 1};
    below = ri;
  }
  return {Metres(z.back()), true, false};
}

MetresPerSecond neutral_friction_velocity(MetresPerSecond wind, Metres height, Metres roughness) {
  return MetresPerSecond(kVonKarman * wind.value() / std::log(height / roughness));
}

StableLayer stable_surface_layer(MetresPerSecond wind, Metres height, Metres roughness, double n, Kelvin temperature) {
  const double u = wind.value();
  if (!(u > 0)) return {MetresPerSecond(kNaN), kNaN};
  const double theta_star = 0.09 * (1 - 0.5 * n * n);
  const double drag = kVonKarman / std::log(height / roughness);
  const double u0 = std::sqrt(5 * height.value() * kGravity * theta_star / temperature.value());
  const double critical = 2 * u0 / std::sqrt(drag);  // below this wind u* falls in proportion to it, and theta* too
  if (u < critical) return {MetresPerSecond(drag * u / 2), theta_star * u / critical};
  const double c = critical / u;
  return {MetresPerSecond(drag * u / 2 * (1 + std::sqrt(1 - c * c))), theta_star};
}

Metres mechanical_height(MetresPerSecond friction_velocity) {
  const double h = 2300 * std::pow(friction_velocity.value(), 1.5);
  return Metres(h > 4000 ? 4000 : h);
}

Metres neutral_limit(MetresPerSecond friction_velocity, Degrees latitude) {
  constexpr double kEarthRotation = 7.292115e-5;  // s-1
  if (!(std::abs(latitude.value()) >= 5)) return Metres(kNaN);
  const double f = 2 * kEarthRotation * std::sin(latitude.value() * std::numbers::pi / 180);
  return Metres(0.3 * friction_velocity.value() / std::abs(f));
}

std::string_view word(MixingMethod method) {
  switch (method) {
    case MixingMethod::none: return "none";
    case MixingMethod::model: return "model";
    case MixingMethod::parcel: return "parcel";
    case MixingMethod::bulk_richardson: return "bulk_richardson";
    case MixingMethod::mechanical: return "mechanical";
  }
  return "none";
}

MixingHeight mixing_height(const AirColumn* column, const SurfaceAir& surface) {
  const MixingHeight from_model = surface.model_mixing_height.is_missing()
                                      ? MixingHeight{}
                                      : MixingHeight{.height = surface.model_mixing_height, .method = MixingMethod::model};
  if (column == nullptr || column->levels_below(kLevelsBelow) < kLevelsNeeded) return from_model;

  if (is_day(surface) && is_heated(*column)) {
    const ParcelHeight parcel = parcel_height(column->height_m, column->theta_v_k, Kelvin(column->theta_v_k[0]));
    if (!parcel.height.is_missing()) {
      MixingHeight found{
          .height = parcel.height, .method = MixingMethod::parcel, .at_least = parcel.at_least, .highest = parcel.highest};
      if (from_model.method == MixingMethod::none) return found;
      const double difference = std::abs(parcel.height.value() - from_model.height.value());
      const bool disagree = difference > kDisagreeMetres &&
                            difference > kDisagreeShare * std::max(parcel.height.value(), from_model.height.value());
      MixingHeight& served = disagree && from_model.height < parcel.height ? (found = from_model) : found;
      served.methods_disagree = disagree;
      return served;
    }
  }
  if (from_model.method != MixingMethod::none) return from_model;

  const RichardsonHeight ri = bulk_richardson_height(column->height_m, column->theta_v_k, column->u_ms, column->v_ms);
  if (ri.height.is_missing()) return {};
  if (ri.below_lowest_level && !surface.solar_elevation.is_missing() && !is_day(surface))
    return {.height = night_height(*column, surface), .method = MixingMethod::mechanical, .below_lowest_level = true};
  return {.height = ri.height,
          .method = MixingMethod::bulk_richardson,
          .at_least = ri.at_least,
          .below_lowest_level = ri.below_lowest_level};
}

}  // namespace hakea::core
