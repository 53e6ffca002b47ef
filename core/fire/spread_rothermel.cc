#include "core/fire/spread_rothermel.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/fire/spread_inputs.h"

namespace hakea::core {
namespace {

constexpr double kParticleDensity = 32, kMineral = 0.0555, kSilicaFree = 0.010;  // lb/ft3, fractions
constexpr double kFootPerMinute = 0.3048 * 60;                                   // m/h
constexpr double kFeetPerMinuteInKilometrePerHour = 88 / 1.609344;
constexpr double kBtuPerFootSecond = 3.46146;  // kW/m

// Classes of one category, dead or live; `moisture` is the index or value that the class takes its moisture from.
struct Particles {
  double load, surface_to_volume;
  int moisture;
};

int size_class(double surface_to_volume) {
  constexpr std::array kBounds{1200.0, 192.0, 96.0, 48.0, 16.0};
  for (std::size_t i = 0; i < kBounds.size(); ++i)
    if (surface_to_volume >= kBounds[i]) return static_cast<int>(i);
  return -1;
}

double surface(const Particles& p) { return p.load * p.surface_to_volume / kParticleDensity; }

// Load net of minerals, each class weighted by the surface of all of its size (Albini 1976).
template <std::size_t N>
double net_load(const std::array<Particles, N>& classes, double whole_surface) {
  double net = 0;
  for (const Particles& j : classes)
    for (const Particles& k : classes)
      if (size_class(j.surface_to_volume) >= 0 && size_class(j.surface_to_volume) == size_class(k.surface_to_volume))
        net += j.load * (1 - kMineral) * surface(k) / whole_surface;
  return net;
}

double moisture_damping(double moisture, double extinction) {
  const double r = moisture / extinction;
  if (r >= 1) return 0;
  return std::max(1 - 2.59 * r + 5.11 * r * r - 3.52 * r * r * r, 0.0);
}

double ignition_heat(double moisture) { return 250 + 1116 * moisture; }  // Btu/lb

}  // namespace

double cured_share(Percent live_herb_moisture) {
  const double share = 1.33 - 1.11 * live_herb_moisture.value() / 100;
  return share < 0 ? 0 : share > 1 ? 1 : share;
}

Percent herb_moisture_at(Percent curing) { return Percent((1.33 - curing.value() / 100) / 1.11 * 100); }

PreparedBed prepared(const FuelBed& bed, Percent live_herb_moisture, Percent live_woody_moisture, Degrees terrain) {
  const auto& w = bed.load_lb_ft2;
  const auto& s = bed.surface_to_volume_per_ft;
  const double cured = bed.is_dynamic && bed.has(FuelBed::herbaceous) ? cured_share(live_herb_moisture) : 0;
  const std::array<Particles, 4> dead{{{w[0], s[0], 0}, {w[1], s[1], 1}, {w[2], s[2], 2}, {cured * w[3], s[3], 0}}};
  const std::array<Particles, 2> live{{{(1 - cured) * w[3], s[3], 0}, {w[4], s[4], 1}}};
  const std::array live_moistures{live_herb_moisture.value() / 100, live_woody_moisture.value() / 100};

  PreparedBed out;
  out.heat = bed.heat_btu_lb;
  out.dead_extinction = bed.extinction_pct / 100;
  double dead_surface = 0, live_surface = 0, load = 0;
  for (const Particles& p : dead) dead_surface += surface(p), load += p.load;
  for (const Particles& p : live) live_surface += surface(p), load += p.load;
  const double whole_surface = dead_surface + live_surface;
  const double dead_share = dead_surface / whole_surface, live_share = live_surface / whole_surface;
  out.has_live = live_surface != 0;  // also when it is missing

  double dead_ratio = 0, live_ratio = 0, fine_dead = 0, fine_live = 0;
  for (const Particles& p : dead) {
    if (p.load == 0) continue;
    dead_ratio += surface(p) / dead_surface * p.surface_to_volume;
    fine_dead += p.load * std::exp(-138 / p.surface_to_volume);
  }
  for (const Particles& p : live) {
    if (p.load == 0) continue;
    live_ratio += surface(p) / live_surface * p.surface_to_volume;
    fine_live += p.load * std::exp(-500 / p.surface_to_volume);
  }
  const double sigma = dead_share * dead_ratio + live_share * live_ratio;
  const double bulk_density = load / bed.depth_ft;
  out.surface_to_volume = sigma;
  out.packing = bulk_density / kParticleDensity;
  out.relative_packing = out.packing / (3.348 * std::pow(sigma, -0.8189));
  const double power = std::pow(sigma, 1.5), a = 133 * std::pow(sigma, -0.7913);
  out.reaction_velocity =
      power / (495 + 0.0594 * power) * std::pow(out.relative_packing, a) * std::exp(a * (1 - out.relative_packing));
  out.propagating = std::exp((0.792 + 0.681 * std::sqrt(sigma)) * (out.packing + 0.1)) / (192 + 0.2595 * sigma);

  out.dead_net_load = net_load(dead, dead_surface);
  for (const Particles& p : dead) {
    if (p.load == 0) continue;
    const auto m = static_cast<std::size_t>(p.moisture);
    const double share = surface(p) / dead_surface, heated = std::exp(-138 / p.surface_to_volume);
    out.share[m] += share;
    out.fine_share[m] += p.load * heated / fine_dead;
    out.sink[m] += bulk_density * dead_share * share * heated;
  }
  if (out.has_live) {
    out.live_net_load = net_load(live, live_surface);
    out.fine_dead_to_live = fine_dead / fine_live;
    for (const Particles& p : live) {
      if (p.load == 0) continue;
      const double share = surface(p) / live_surface, moisture = live_moistures[static_cast<std::size_t>(p.moisture)];
      out.live_moisture += share * moisture;
      out.live_sink += bulk_density * live_share * share * std::exp(-138 / p.surface_to_volume) * ignition_heat(moisture);
    }
  }
  out.wind_exponent = 0.02526 * std::pow(sigma, 0.54);
  out.wind_coefficient =
      7.47 * std::exp(-0.133 * std::pow(sigma, 0.55)) * std::pow(out.relative_packing, -0.715 * std::exp(-3.59e-4 * sigma));
  const double rise = std::tan((terrain.value() < 0 ? 0 : terrain.value()) * std::numbers::pi / 180);
  out.slope = 5.275 * std::pow(out.packing, -0.3) * rise * rise;
  return out;
}

RothermelHour rothermel_hour(const SpreadInputs& in) {
  const PreparedBed& bed = in.bed;
  const std::array moistures{in.moisture.value() / 100, in.moisture_10h.value() / 100, in.moisture_100h.value() / 100};
  double dead_moisture = 0, fine_moisture = 0;
  RothermelHour out;
  out.heat_sink = bed.has_live ? bed.live_sink : 0;
  for (std::size_t i = 0; i < 3; ++i) {
    if (bed.share[i] == 0) continue;
    dead_moisture += bed.share[i] * moistures[i];
    fine_moisture += bed.fine_share[i] * moistures[i];
    out.heat_sink += bed.sink[i] * ignition_heat(moistures[i]);
  }
  double burning = bed.dead_net_load * moisture_damping(dead_moisture, bed.dead_extinction);
  if (bed.has_live) {
    const double extinction =
        std::max(2.9 * bed.fine_dead_to_live * (1 - fine_moisture / bed.dead_extinction) - 0.226, bed.dead_extinction);
    burning += bed.live_net_load * moisture_damping(bed.live_moisture, extinction);
  }
  if (!(dead_moisture < bed.dead_extinction)) burning = std::isnan(dead_moisture) ? dead_moisture : 0;
  static const double kMineralDamping = 0.174 * std::pow(kSilicaFree, -0.19);
  out.reaction_intensity = bed.reaction_velocity * burning * bed.heat * kMineralDamping;
  out.slope = bed.slope;
  const double wind = in.forest_wind.value() * kFeetPerMinuteInKilometrePerHour;
  out.wind = bed.wind_coefficient * std::pow(wind, bed.wind_exponent);
  out.level_calm_rate = out.reaction_intensity * bed.propagating / out.heat_sink;
  out.rate = out.level_calm_rate * (1 + out.wind + out.slope);
  const double effective_wind = std::pow((out.wind + out.slope) / bed.wind_coefficient, 1 / bed.wind_exponent);
  const double highest = std::max(effective_wind, out.level_calm_rate);
  out.is_held = out.rate > highest;
  if (out.is_held) out.rate = highest;
  return out;
}

MetresPerHour rothermel_spread(const SpreadInputs& in) { return MetresPerHour(rothermel_hour(in).rate * kFootPerMinute); }

bool in_rothermel_domain(const SpreadInputs& in) { return in.moisture.value() > 0 && !rothermel_hour(in).is_held; }

KilowattsPerMetre rothermel_intensity(const SpreadInputs& in, MetresPerHour spread) {
  const double heat_per_area = rothermel_hour(in).reaction_intensity * 384 / in.bed.surface_to_volume;  // Btu/ft2
  return KilowattsPerMetre(heat_per_area * spread.value() / kFootPerMinute / 60 * kBtuPerFootSecond);
}

}  // namespace hakea::core
