#include "core/air/dispersion.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <span>
#include <utility>

#include "core/base/numbers.h"

namespace hakea::core {
namespace {

constexpr double kHighest = 5000;  // m, of the vertical spread
constexpr double kFirst = 1;       // m from an element of the area: nearer ones are not counted, as in SCREEN3

// sigma_z = a x^b with x in km, up to `to`.
struct Band {
  double to, a, b;
};
constexpr double kBeyond = 1e9;
constexpr Band kA[] = {{0.10, 122.8, 0.9447},  {0.15, 158.08, 1.0542}, {0.20, 170.22, 1.0932},
                       {0.25, 179.52, 1.1262}, {0.30, 217.41, 1.2644}, {0.40, 258.89, 1.4094},
                       {0.50, 346.75, 1.7283}, {3.11, 453.85, 2.1166}, {kBeyond, kHighest, 0}};
constexpr Band kB[] = {{0.20, 90.673, 0.93198}, {0.40, 98.483, 0.98332}, {35, 109.3, 1.0971}, {kBeyond, kHighest, 0}};
constexpr Band kC[] = {{kBeyond, 61.141, 0.91465}};
constexpr Band kD[] = {{0.30, 34.459, 0.86974}, {1, 32.093, 0.81066}, {3, 32.093, 0.64403},
                       {10, 33.504, 0.60486},   {30, 36.65, 0.56589}, {kBeyond, 44.053, 0.51179}};
constexpr Band kE[] = {{0.10, 24.26, 0.8366}, {0.30, 23.331, 0.81956}, {1, 21.628, 0.7566},
                       {2, 21.628, 0.63077},  {4, 22.534, 0.57154},    {10, 24.703, 0.50527},
                       {20, 26.97, 0.46713},  {40, 35.42, 0.37615},    {kBeyond, 47.618, 0.29592}};
constexpr Band kF[] = {{0.20, 15.209, 0.81558}, {0.70, 14.457, 0.78407},   {1, 13.953, 0.68465},  {2, 13.953, 0.63227},
                       {3, 14.823, 0.54503},    {7, 16.187, 0.4649},       {15, 17.836, 0.41507}, {30, 22.651, 0.32681},
                       {60, 27.074, 0.27436},   {kBeyond, 34.219, 0.21716}};
constexpr std::array<std::span<const Band>, 6> kVertical{kA, kB, kC, kD, kE, kF};

// sigma_y = 465.11628 x tan(0.017453293 (c - d ln x)).
constexpr double kLateral[6][2] = {{24.1670, 2.5334}, {18.3330, 1.8096}, {12.5, 1.0857},
                                   {8.3330, 0.72382}, {6.25, 0.54287},   {4.1667, 0.36191}};

bool is_class(int c) { return c >= 1 && c <= 6; }

// Gauss-Kronrod, 15 points on (-1, 1), the half from 0 up, with the 7 points of Gauss among them (weight 0 at the others):
// QUADPACK, routine QK15. Smoke from the ground takes all of them; from aloft nothing is thick near by, and the 7 do.
struct Node {
  double at, weight, gauss_weight;
};
constexpr Node kNodes[] = {{0, 0.209482141084728, 0.417959183673469},
                           {0.207784955007898, 0.204432940075299, 0},
                           {0.405845151377397, 0.190350578064785, 0.381830050505119},
                           {0.586087235467691, 0.169004726639268, 0},
                           {0.741531185599394, 0.140653259715526, 0.279705391489277},
                           {0.864864423359769, 0.104790010322250, 0},
                           {0.949107912342759, 0.063092092629979, 0.129484966168870},
                           {0.991455371120813, 0.022935322010529, 0}};

}  // namespace

Metres lateral_spread(int stability_class, Metres distance) {
  const double x = distance.value() / 1000;
  if (!is_class(stability_class) || !(x > 0)) return Metres(kNaN);
  const auto [c, d] = kLateral[stability_class - 1];
  return Metres(465.11628 * x * std::tan(0.017453293 * (c - d * std::log(x))));
}

Metres vertical_spread(int stability_class, Metres distance) {
  const double x = distance.value() / 1000;
  if (!is_class(stability_class) || !(x > 0)) return Metres(kNaN);
  const auto& bands = kVertical[static_cast<std::size_t>(stability_class - 1)];
  const Band& band = *std::find_if(bands.begin(), bands.end() - 1, [x](const Band& b) { return x <= b.to; });
  return Metres(std::min(band.b == 0 ? band.a : band.a * std::pow(x, band.b), kHighest));
}

double vertical_term(Metres height, Metres vertical_spread, Metres lid) {
  const double h = height.value(), s = vertical_spread.value(), top = lid.value();
  if (std::isnan(h) || std::isnan(s)) return kNaN;
  if (h > top) return 0;
  if (s / top > 1.6) return std::sqrt(2 * std::numbers::pi) * s / top;
  const auto bell = [s](double z) { return std::exp(-z * z / (2 * s * s)); };
  double sum = bell(h);
  if (!lid.is_missing())
    for (int i = 1; i <= 20; ++i) {
      const double images = bell(2 * i * top - h) + bell(2 * i * top + h);
      sum += images;
      if (images < 1e-7 * sum) break;
    }
  return 2 * sum;
}

AreaPlume::AreaPlume(Metres along, Metres across, Metres downwind)
    : along_(along.value()), across_(across.value()), downwind_(downwind.value()) {}

bool AreaPlume::can_tell(double rate_g_s, const SpreadingAir& air) const {
  return along_ > 0 && across_ > 0 && !std::isnan(downwind_) && !std::isnan(rate_g_s) && is_class(air.stability_class) &&
         !air.wind.is_missing();
}

// Integrated over ln x, so that the near end, where an element of the area is thickest, has as many points as the far one.
const AreaPlume::Spreads& AreaPlume::spreads(int stability_class) {
  Spreads& found = by_class_[static_cast<std::size_t>(stability_class - 1)];
  if (std::exchange(found.is_found, true)) return found;
  const double low = std::log(std::max(downwind_ - along_ / 2, kFirst)), high = std::log(downwind_ + along_ / 2);
  for (std::size_t i = 0; i < kPoints; ++i) {
    const Node& node = kNodes[(i + 1) / 2];
    const double side = i % 2 == 0 ? 1 : -1;
    Point& point = found.points[i];
    point.x = std::exp((high + low) / 2 + side * node.at * (high - low) / 2);
    point.weight = node.weight * (high - low) / 2 * point.x / (std::sqrt(2 * std::numbers::pi) * along_ * across_);
    point.y = lateral_spread(stability_class, Metres(point.x)).value();
    point.z = vertical_spread(stability_class, Metres(point.x)).value();
    point.ground = 2 * point.weight / point.z * std::erf(across_ / (2 * std::numbers::sqrt2 * point.y));
    found.ground += point.ground;
  }
  return found;
}

double AreaPlume::from_ground(double rate_g_s, const SpreadingAir& air) {
  if (!can_tell(rate_g_s, air)) return kNaN;
  if (downwind_ + along_ / 2 <= kFirst) return 0;
  const Spreads& path = spreads(air.stability_class);
  const double u = std::max(air.wind.value(), 1.0);
  if (air.stability_class >= 5 || air.lid.is_missing()) return rate_g_s / u * path.ground;
  double sum = 0;
  for (const Point& point : path.points) {
    constexpr double kFarLid = 5;  // spreads: what the lid reflects is under 1e-20
    const bool is_free = air.lid.value() > kFarLid * point.z;
    sum += is_free ? point.ground : point.ground * vertical_term(Metres(0), Metres(point.z), air.lid) / 2;
  }
  return rate_g_s / u * sum;
}

double AreaPlume::from_aloft(double rate_g_s, Metres height, const PlumeRise& rise, const SpreadingAir& air) {
  if (!can_tell(rate_g_s, air) || height.is_missing()) return kNaN;
  if (downwind_ + along_ / 2 <= kFirst) return 0;
  const double u = std::max(air.wind.value(), 1.0);
  const Metres lid = air.stability_class >= 5 ? Metres::missing() : air.lid;
  const double whole = rise.final_rise().value(), far = rise.final_distance().value();
  const Spreads& path = spreads(air.stability_class);
  double sum = 0;
  for (std::size_t i = 0; i < kPoints; ++i) {
    const Node& node = kNodes[(i + 1) / 2];
    if (node.gauss_weight == 0) continue;
    const Point& point = path.points[i];
    const double own = (point.x >= far ? whole : rise.rise_at(Metres(point.x)).value()) / 3.5;
    const double y = std::sqrt(point.y * point.y + own * own), z = std::sqrt(point.z * point.z + own * own);
    const double reaches = vertical_term(height, Metres(z), lid);
    if (reaches > 0)
      sum += node.gauss_weight / node.weight * point.weight / z * reaches * std::erf(across_ / (2 * std::numbers::sqrt2 * y));
  }
  return rate_g_s / u * sum;
}

}  // namespace hakea::core
