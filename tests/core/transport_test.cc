#include "core/air/transport.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/base/numbers.h"

namespace hakea::core {
namespace {

AirColumn column(std::vector<double> z, std::vector<double> u, std::vector<double> v) {
  AirColumn c;
  c.height_m = std::move(z);
  c.u_ms = std::move(u);
  c.v_ms = std::move(v);
  return c;
}

SurfaceAir surface() {
  SurfaceAir s;
  s.wind_speed = KilometresPerHour(10.8);  // 3 m/s
  s.wind_from_direction = Degrees(270);
  return s;
}

TEST(TransportWind, IsTheMeanFromTenMetresToTheMixingHeight) {
  const AirColumn c = column({2, 1010}, {3, 13}, {0, 0});
  const TransportWind wind = transport_wind(&c, surface(), Metres(510));
  EXPECT_NEAR(wind.speed.value(), (3 + 8) / 2.0, 1e-12);
  EXPECT_NEAR(wind.from_direction.value(), 270, 1e-9);
  EXPECT_FALSE(wind.at_surface);
}

TEST(TransportWind, HasTheSpeedOfTheMeanSpeedAndTheDirectionOfTheMeanVector) {
  const AirColumn c = column({10, 510, 1010}, {0, 4, 0}, {-4, 0, 4});  // from north, west, south
  const TransportWind wind = transport_wind(&c, surface(), Metres(1010));
  EXPECT_NEAR(wind.speed.value(), 4, 1e-12);
  EXPECT_NEAR(wind.from_direction.value(), 270, 1e-9);
}

TEST(TransportWind, HasNoDirectionWhereTheVectorsCancel) {
  const AirColumn c = column({10, 1010}, {5, -5}, {0, 0});
  const TransportWind wind = transport_wind(&c, surface(), Metres(1010));
  EXPECT_NEAR(wind.speed.value(), 5, 1e-12);
  EXPECT_TRUE(wind.from_direction.is_missing());
}

TEST(TransportWind, IsTheTenMetreWindInShallowAirOrWithoutLevels) {
  const AirColumn c = column({2, 1000}, {3, 13}, {0, 0}), windless = column({2, 1000}, {3, kNaN}, {0, kNaN});
  for (const TransportWind& wind :
       {transport_wind(&c, surface(), Metres(99.9)), transport_wind(&c, surface(), Metres(-50)),
        transport_wind(nullptr, surface(), Metres(1500)), transport_wind(&windless, surface(), Metres(1500))}) {
    EXPECT_TRUE(wind.at_surface);
    EXPECT_NEAR(wind.speed.value(), 3, 1e-12);
    EXPECT_EQ(wind.from_direction.value(), 270);
  }
  EXPECT_FALSE(transport_wind(&c, surface(), Metres(100)).at_surface);
}

TEST(TransportWind, IsMissingWithoutAMixingHeight) {
  const AirColumn c = column({2, 1000}, {3, 13}, {0, 0});
  EXPECT_TRUE(transport_wind(&c, surface(), Metres(kNaN)).speed.is_missing());
}

TEST(Ventilation, IsZeroAboveTheMixedLayerAndUnknownWithoutItsFactors) {
  EXPECT_EQ(ventilation_index(Metres(0), MetresPerSecond(5)).value(), 0);
  EXPECT_EQ(ventilation_index(Metres(-20), MetresPerSecond(5)).value(), 0);
  EXPECT_TRUE(ventilation_index(Metres(kNaN), MetresPerSecond(5)).is_missing());
  EXPECT_TRUE(ventilation_index(Metres(800), MetresPerSecond(kNaN)).is_missing());
}

}  // namespace
}  // namespace hakea::core
