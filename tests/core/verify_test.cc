// What scores and corrections promise beyond their published values.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <random>

#include "core/verify/calibration.h"
#include "core/verify/emos.h"
#include "core/verify/reliability.h"
#include "core/verify/scores.h"

namespace hakea::core {
namespace {

constexpr BiasRule kTemperature{BiasKind::additive, 3}, kWind{BiasKind::multiplicative, 0.3};

std::vector<Pair> pairs(std::size_t n, double forecast, double observed) { return std::vector<Pair>(n, {forecast, observed}); }

TEST(MeanErrorsOfPairs, AreNoNumberWithoutAny) {
  EXPECT_TRUE(std::isnan(errors_of({}).bias));
  const std::vector<Pair> two{{12, 10}, {9, 13}};
  const MeanErrors errors = errors_of(two);
  EXPECT_EQ(errors.bias, -1);
  EXPECT_EQ(errors.mae, 3);
  EXPECT_DOUBLE_EQ(errors.rmse, std::sqrt(10.0));
}

TEST(BrierScore, IsTheSumOfItsParts) {
  std::vector<Chance> chances;
  for (int i = 0; i < 97; ++i) chances.push_back({(i * 37 % 11) / 10.0, i * 53 % 7 < 3});
  const Brier brier = brier_of(chances);
  EXPECT_NEAR(brier.score, brier.reliability - brier.resolution + brier.uncertainty, 1e-12);
}

TEST(RelativeValue, IsOneForPerfectCallsAndNoneForAlwaysActing) {
  EXPECT_DOUBLE_EQ(relative_value({10, 0, 0, 30}, 0.3), 1);
  EXPECT_DOUBLE_EQ(relative_value({10, 30, 0, 0}, 0.2), 0) << "where acting always is what the climate says";
  EXPECT_LT(relative_value({0, 10, 10, 20}, 0.4), 0);
}

TEST(Bias, NeedsFifteenPairs) {
  EXPECT_EQ(estimate_bias(pairs(14, 22, 20), kTemperature).method, BiasMethod::none);
  EXPECT_EQ(corrected(22, estimate_bias(pairs(14, 22, 20), kTemperature), kTemperature), 22);
}

TEST(Bias, OfFewPairsIsHalfBelievedAndHeld) {
  const BiasEstimate two = estimate_bias(pairs(15, 22, 20), kTemperature);
  EXPECT_EQ(two.method, BiasMethod::mean);
  EXPECT_DOUBLE_EQ(two.bias, 1);  // 2 x 15 / (15 + 15)
  EXPECT_EQ(estimate_bias(pairs(29, 40, 20), kTemperature).bias, 3) << "held to three degrees";
}

TEST(Bias, OfThirtyPairsIsTheDecayingAverageOfTheNewest) {
  std::vector<Pair> all = pairs(60, 20, 20);
  for (std::size_t i = 30; i < 60; ++i) all[i].forecast = 22;  // the model changed
  const BiasEstimate bias = estimate_bias(all, kTemperature);
  EXPECT_EQ(bias.method, BiasMethod::decaying);
  EXPECT_GT(bias.bias, 1.5);
  EXPECT_LT(bias.bias, 2);
}

TEST(Bias, IsNotMadeByOneWildPair) {
  std::vector<Pair> all;
  for (int i = 0; i < 40; ++i) all.push_back({20.0 + (i % 3 - 1), 20});
  all.back().forecast = 90;
  EXPECT_LT(estimate_bias(all, kTemperature).bias, 0.5);
}

TEST(Bias, OfWindIsARatioAndNeverTakesItBelowZero) {
  const BiasEstimate bias = estimate_bias(pairs(20, 30, 10), kWind);
  EXPECT_EQ(bias.bias, 1.3) << "held to three tenths";
  EXPECT_GT(corrected(0.1, bias, kWind), 0);
  EXPECT_EQ(estimate_bias(pairs(40, 0, 0), kWind).method, BiasMethod::none) << "a calm has no ratio";
}

TEST(EffectiveNumber, IsSmallerWhereAnErrorLasts) {
  std::vector<double> lasting, alternating;
  for (int i = 0; i < 40; ++i) {
    lasting.push_back(i / 10);
    alternating.push_back(i % 2);
  }
  EXPECT_LT(effective_number(lasting), 10);
  EXPECT_EQ(effective_number(alternating), 40);
}

TEST(Reliability, CountsTenthsWithTheirEndsAndHidesThoseOfFewCases) {
  std::vector<Chance> chances;
  const auto add = [&](int n, double chance, int happened) {
    for (int i = 0; i < n; ++i) chances.push_back({chance, i < happened});
  };
  add(20, 0, 1);
  add(10, 3 / 10.0, 6);  // belongs to the tenth that begins with it
  add(5, 0.39, 5);       // to the same
  add(9, 0.55, 5);       // too few
  add(12, 1, 12);        // the last has its end
  add(8, 0.9, 6);
  const auto bins = reliability_of(chances);
  ASSERT_EQ(bins.size(), 3u);
  EXPECT_EQ(bins[0].n, 20u);
  EXPECT_DOUBLE_EQ(bins[0].happened, 0.05);
  EXPECT_EQ(bins[0].high, 0) << "what cannot be never happens";
  EXPECT_DOUBLE_EQ(bins[1].from, 0.3);
  EXPECT_EQ(bins[1].n, 15u);
  EXPECT_DOUBLE_EQ(bins[1].given, 0.33);
  EXPECT_DOUBLE_EQ(bins[1].happened, 11 / 15.0);
  // Of 15 trials with a chance of .33 at most 1 succeeds with .0206, at most 2 with .0936; at most 7 with .9120, at most 8 with
  // .9692.
  EXPECT_DOUBLE_EQ(bins[1].low, 2 / 15.0);
  EXPECT_DOUBLE_EQ(bins[1].high, 8 / 15.0);
  EXPECT_DOUBLE_EQ(bins[2].to, 1);
  EXPECT_EQ(bins[2].n, 20u);
  EXPECT_TRUE(reliability_of({}).empty());
}

TEST(Reliability, OfQuotientsOfMembersPutsEachInItsTenth) {
  for (int of = 1; of <= 60; ++of)
    for (int met = 0; met <= of; ++met) {
      const auto bins = reliability_of(std::vector<Chance>(kCasesOfBin, {static_cast<double>(met) / of, true}));
      ASSERT_EQ(bins.size(), 1u);
      const int tenth = std::min(10 * met / of, 9);
      EXPECT_DOUBLE_EQ(bins[0].from, tenth / 10.0) << met << " of " << of;
    }
}

TEST(SpreadOfMembers, TellsTooLittleSpreadByItsRatioAndTheEndsOfItsRanks) {
  std::mt19937 chance(42);
  std::normal_distribution<double> normal;
  SpreadOfMembers right, narrow;
  for (int i = 0; i < 2000; ++i) {
    const double centre = 3 * normal(chance), truth = centre + normal(chance);
    std::array<double, 9> wide, close;
    for (std::size_t m = 0; m < wide.size(); ++m) {
      const double off = normal(chance);
      wide[m] = centre + off;
      close[m] = centre + off / 3;
    }
    right.add(wide, truth);
    narrow.add(close, truth);
  }
  EXPECT_NEAR(right.ratio(), 1, 0.05);
  EXPECT_LT(narrow.ratio(), 0.5);
  for (const double count : right.ranks()) EXPECT_NEAR(count, 200, 60);
  EXPECT_GT(narrow.ranks().front() + narrow.ranks().back(), 1000);
}

TEST(SpreadOfMembers, OfDifferentNumbersHasNoRanksAndLeavesSingleForecastsOut) {
  SpreadOfMembers spread;
  spread.add(std::array{1.0}, 5);
  EXPECT_EQ(spread.n(), 0u);
  spread.add(std::array{1.0, 2.0}, 5);
  EXPECT_EQ(spread.ranks().size(), 3u);
  spread.add(std::array{1.0, 2.0, 3.0}, 5);
  spread.add(std::array{1.0, 2.0}, 5);
  EXPECT_TRUE(spread.ranks().empty());
  EXPECT_EQ(spread.n(), 3u);
  EXPECT_TRUE(std::isfinite(spread.ratio()));
}

// A warm ensemble that spreads too little, on cases that the fit has not seen: its raw chances are of little use, the fitted
// ones mean what they say.
TEST(Emos, OfAWarmAndNarrowEnsembleIsSharperAndFlat) {
  std::mt19937 chance(42);
  std::normal_distribution<double> normal;
  const auto draw = [&](int n, std::vector<EmosCase>& cases, std::vector<std::vector<double>>& ensembles) {
    for (int i = 0; i < n; ++i) {
      const double centre = 15 + 5 * normal(chance), width = 0.5 + std::abs(normal(chance));
      const double truth = centre + std::hypot(1, 1.5 * width) * normal(chance);
      std::vector<double>& members = ensembles.emplace_back();
      EmosCase one{.observed = truth};
      for (int m = 0; m < 10; ++m) {
        members.push_back(centre + 1.5 + width / 2 * normal(chance));
        one.mean += members.back() / 10;
      }
      for (const double x : members) one.variance += (x - one.mean) * (x - one.mean) / 9;
      cases.push_back(one);
    }
  };
  std::vector<EmosCase> past, to_come;
  std::vector<std::vector<double>> ignored, ensembles;
  draw(400, past, ignored);
  draw(1000, to_come, ensembles);
  const auto emos = fit_emos(past, EmosKind::normal, true);
  ASSERT_TRUE(emos);
  EXPECT_EQ(emos->n, 400u);
  EXPECT_GT(emos->d, 1) << "errors go with the spread";
  double raw = 0, fitted = 0;
  std::array<double, 10> tenths{};
  for (std::size_t i = 0; i < to_come.size(); ++i) {
    const CalibratedForecast forecast = calibrated(*emos, to_come[i].mean, to_come[i].variance);
    raw += crps_of_members(ensembles[i], to_come[i].observed);
    fitted += forecast.crps(to_come[i].observed);
    const double below = std::erfc((forecast.location - to_come[i].observed) / forecast.deviation / std::sqrt(2.0)) / 2;
    ++tenths[std::min<std::size_t>(static_cast<std::size_t>(10 * below), 9)];
  }
  EXPECT_LT(fitted, 0.85 * raw);
  double chi_square = 0;
  for (const double count : tenths) chi_square += (count - 100) * (count - 100) / 100;
  EXPECT_LT(chi_square, 21.67) << "the 99 % quantile of nine degrees of freedom";
}

TEST(Emos, OfASingleForecastIsItsErrorAndWhatIsLeftOfIt) {
  std::vector<EmosCase> cases;
  for (int i = 0; i < 90; ++i) cases.push_back({20.0 + i % 7, 0, 18.0 + i % 7 + (i % 2 ? 1.0 : -1.0)});
  const auto emos = fit_emos(cases, EmosKind::normal, false);
  ASSERT_TRUE(emos);
  EXPECT_NEAR(emos->a, -2, 1e-2);
  EXPECT_EQ(emos->b, 1);
  const CalibratedForecast forecast = calibrated(*emos, 30, 0);
  EXPECT_NEAR(forecast.mean(), 28, 1e-2);
  EXPECT_NEAR(forecast.standard_deviation(), 1, 0.3);
  EXPECT_FALSE(fit_emos({}, EmosKind::normal, false));
}

TEST(Emos, OfWindIsNeverBelowZero) {
  std::vector<EmosCase> cases;
  for (int i = 0; i < 90; ++i) cases.push_back({4.0 + i % 5, 0, std::max(0.0, i % 5 - 2.0)});
  const auto emos = fit_emos(cases, EmosKind::above_zero, true);
  ASSERT_TRUE(emos);
  for (const double wind : {0.0, 2.0, 6.0}) {
    const CalibratedForecast forecast = calibrated(*emos, wind, 0);
    EXPECT_GE(forecast.mean(), 0) << wind;
    EXPECT_GE(forecast.standard_deviation(), 0) << wind;
  }
  // By the integrals of its density from zero on, of N(1, 2): 2.0183 and 1.3945.
  const CalibratedForecast one{EmosKind::above_zero, 1, 2};
  EXPECT_NEAR(one.mean(), 2.0183, 1e-4);
  EXPECT_NEAR(one.standard_deviation(), 1.3945, 1e-4);
}

}  // namespace
}  // namespace hakea::core
