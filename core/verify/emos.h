// What a forecast says of its own error, from what its forecasts before were wrong by: ensemble model output statistics
// (Gneiting et al. 2005, Mon. Wea. Rev. 133, 1098-1118). The distribution N(a + b x, c^2 + d^2 S^2) of what will be observed,
// where x is the mean and S^2 the variance of the members, with the a, b, c, d of the least mean CRPS. A single forecast is an
// ensemble without a variance. Of what is never below zero, such as wind, the distribution is cut off there
// (Thorarinsdottir & Gneiting 2010, J. R. Stat. Soc. A 173, 371-388).
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "core/verify/calibration.h"

namespace hakea::core {

// So many pairs it takes for b = d = 1, and so many for all four [our own defaults].
inline constexpr std::size_t kPairsForEmos = 60, kPairsForFullEmos = 100;

enum class EmosKind : std::uint8_t { normal, above_zero };

struct Emos {
  EmosKind kind = EmosKind::normal;
  double a = 0, b = 1, c = 1, d = 1;
  std::size_t n = 0;  // pairs that it rests on
};

struct EmosCase {
  double mean = 0, variance = 0;  // of the members
  double observed = 0;
};

// `is_full`: b and d are looked for as well, else they are 1; d only where members have a variance. None where there are no
// cases, or no member of them is a number.
std::optional<Emos> fit_emos(std::span<const EmosCase> cases, EmosKind kind, bool is_full);

// A normal distribution, cut off below zero where it is of such a kind.
struct CalibratedForecast {
  EmosKind kind = EmosKind::normal;
  double location = 0, deviation = 0;  // before it is cut off

  double mean() const;
  double standard_deviation() const;
  double crps(double observed) const;
};
CalibratedForecast calibrated(const Emos& emos, double mean, double variance);

// CRPS of a normal distribution cut off below zero (Thorarinsdottir & Gneiting 2010, eq. 4 [from memory]; held against the
// integral that it stands for). Observations are not below zero.
double crps_of_cut_normal(double location, double deviation, double observed);

}  // namespace hakea::core
