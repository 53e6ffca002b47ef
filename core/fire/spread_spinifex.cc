#include "core/fire/spread_spinifex.h"

#include <cmath>

#include "core/fire/slope.h"

namespace hakea::core {
namespace {

double wind_at_2m(const SpreadInputs& in) { return in.open_wind.value() / 1.35; }

}  // namespace

double spinifex_spread_index(KilometresPerHour wind, Percent cover, Percent moisture) {
  return 0.412 * wind.value() + 0.311 * cover.value() - 0.676 * moisture.value() - 4.073;
}

MetresPerHour spinifex_spread(const SpreadInputs& in) {
  const double u = wind_at_2m(in);
  const Percent cover = in.fuel->ground_cover;
  const double rate = 40.982 * std::pow(u, 1.399) * std::pow(cover.value(), 1.201) / std::pow(in.moisture.value(), 1.699);
  const bool stays = spinifex_spread_index(KilometresPerHour(u), cover, in.moisture) <= 0;
  return MetresPerHour((stays ? 0 : rate) * in.climb);
}

bool in_spinifex_domain(const SpreadInputs& in) {
  const double cover = in.fuel->ground_cover.value();
  return cover > 0 && cover <= 75 && in.moisture.value() > 0 && in_slope_domain(in.slope);
}

Percent spinifex_cover(double age_years) {
  const double cover = 26.20 * std::pow(age_years, 0.227);
  return Percent(cover > 75 ? 75 : cover);
}

TonnesPerHectare spinifex_load(double age_years) { return TonnesPerHectare(2.046 * std::pow(age_years, 0.420)); }

Metres spinifex_flame_height(TonnesPerHectare load, MetresPerHour spread) {
  return Metres(spread.value() == 0 ? 0 : 0.097 * std::pow(spread.value(), 0.424) + 0.102 * load.value());
}

}  // namespace hakea::core
