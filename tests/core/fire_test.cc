// Danger and fire behaviour: identities, bounds and edges. Published values stand in tests/cases.
#include <gtest/gtest.h>

#include <cmath>

#include "core/fire/danger.h"
#include "core/fire/flame.h"
#include "core/fire/spread_control_burning.h"

namespace hakea::core {
namespace {

DangerInputs inputs(double d, double t, double h, double v) { return {One(d), Celsius(t), Percent(h), KilometresPerHour(v)}; }

// The form printed by the open library xclim, over the whole box.
TEST(Ffdi, AgreesWithTheFormOfAnotherLibraryOverTheBox) {
  for (double d = 1; d <= 10; d += 1)
    for (double t = 0; t <= 45; t += 5)
      for (double h = 5; h <= 100; h += 5)
        for (double v = 0; v <= 80; v += 10) {
          const double other = std::pow(d, 0.987) * std::exp(0.0338 * t - 0.0345 * h + 0.0234 * v + 0.243147);
          ASSERT_NEAR(ffdi(inputs(d, t, h, v)).value() / other, 1, 1e-6);
          ASSERT_TRUE(in_ffdi_domain(inputs(d, t, h, v)));
        }
}

TEST(Ffdi, RisesWithHeatWindAndDroughtAndFallsWithHumidity) {
  const double base = ffdi(inputs(6, 25, 40, 15)).value();
  EXPECT_GT(ffdi(inputs(7, 25, 40, 15)).value(), base);
  EXPECT_GT(ffdi(inputs(6, 26, 40, 15)).value(), base);
  EXPECT_LT(ffdi(inputs(6, 25, 41, 15)).value(), base);
  EXPECT_GT(ffdi(inputs(6, 25, 40, 16)).value(), base);
}

TEST(Ffdi, H27NoDroughtFactorIsZeroAndMissingIsNeverZero) {
  EXPECT_EQ(ffdi(inputs(0, 25, 40, 15)).value(), 0);
  EXPECT_TRUE(ffdi(inputs(0, std::nan(""), 40, 15)).is_missing());
  EXPECT_TRUE(ffdi(inputs(std::nan(""), 25, 40, 15)).is_missing());
  EXPECT_TRUE(ffdi(inputs(5, 25, std::nan(""), 15)).is_missing());
  EXPECT_TRUE(ffdi(inputs(5, 25, 40, std::nan(""))).is_missing());
  EXPECT_FALSE(in_ffdi_domain(inputs(5, 46, 40, 15)));
  EXPECT_FALSE(in_ffdi_domain(inputs(5, 25, 4, 15)));
}

TEST(FlameHeight, BothFitsOfTheGuidesGraphAgreeOverTheBox) {
  for (double w = 5; w <= 25; w += 1)
    for (double r = 5; r <= 120; r += 5) {
      // Form A of another transcriber: the same graph in feet, load in US tons an acre.
      const double rate = r / 18.3;
      const double a = 9.67853 * (1 - std::exp(-0.31772 * rate)) * (1 - std::exp(-0.03644 * std::pow(1.1289, rate) * w / 2.2417));
      const double b = control_burning_flame_height(TonnesPerHectare(w), MetresPerHour(r)).value();
      EXPECT_LT(std::abs(a / b - 1), 0.18) << w << " " << r;
    }
}

TEST(ScorchHeight, TheGuidesRelationIsVanWagnersAt25Degrees) {
  for (double w = 5; w <= 25; w += 2)
    for (double r = 5; r <= 120; r += 5) {
      const auto i = fireline_intensity(TonnesPerHectare(w), MetresPerHour(r));
      const double guide =
          control_burning_scorch_height(control_burning_flame_height(TonnesPerHectare(w), MetresPerHour(r))).value();
      EXPECT_NEAR(guide / scorch_height(i, Celsius(25)).value(), 1, 0.04) << w << " " << r;
    }
}

TEST(ScorchHeight, IsHighestInTheCalm) {
  EXPECT_LT(scorch_height(KilowattsPerMetre(300), Celsius(20), KilometresPerHour(5)),
            scorch_height(KilowattsPerMetre(300), Celsius(20), KilometresPerHour(0)));
  EXPECT_TRUE(scorch_height(KilowattsPerMetre(300), Celsius(60)).is_missing());
  EXPECT_EQ(scorch_height(KilowattsPerMetre(0), Celsius(20)).value(), 0);
}

TEST(FlameLength, TheTwoCurvesCrossWhereTheyShould) {
  EXPECT_GT(flame_length(KilowattsPerMetre(170)), thomas_flame_length(KilowattsPerMetre(170)));
  EXPECT_LT(flame_length(KilowattsPerMetre(185)), thomas_flame_length(KilowattsPerMetre(185)));
}

}  // namespace
}  // namespace hakea::core
