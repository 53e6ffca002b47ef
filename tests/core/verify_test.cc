// What scores and corrections promise beyond their published values.
#include <gtest/gtest.h>

#include <cmath>

#include "core/verify/calibration.h"
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

}  // namespace
}  // namespace hakea::core
