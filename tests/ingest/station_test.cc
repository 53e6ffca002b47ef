// Stations: tables of them, and which one speaks for a place.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>

#include "ingest/inspect.h"
#include "ingest/run/forecast_run.h"
#include "ingest/station/nearest.h"
#include "tests/support/case_file.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

// A minute of arc of a great circle is a nautical mile, 1.852 km. Flinders Peak to Buninyong is 54.972271 km on the ellipsoid
// (the worked example of the Geocentric Datum of Australia Technical Manual); a sphere is right to 0.5 %.
TEST(Stations, DistancesAreThoseOfAGreatCircle) {
  EXPECT_NEAR(distance_km({-37, 150, 0}, {-36, 150, 0}), 60 * 1.852, 0.2);
  EXPECT_NEAR(distance_km({0, 179.9, 0}, {0, -179.9, 0}), 12 * 1.852, 0.1);
  EXPECT_NEAR(distance_km({-37.951033417, 144.424867889, 0}, {-37.652821139, 143.926495528, 0}), 54.972, 0.27);
}

TEST(Stations, TheNearestWithinReachBothWaysSpeaks) {
  const StationSite place{-37, 150, 200};
  EXPECT_EQ(nearest_station(place, {{-37.3, 150, 200}, {-37.1, 150, 200}, {-37.2, 150, 200}}), 1u);
  EXPECT_EQ(nearest_station(place, {{-37.3, 150, 400}, {-37.1, 150, 501}}), 0u) << "301 m higher is another country";
  EXPECT_EQ(nearest_station(place, {{-37.1, 150, 500}}), 0u) << "300 m is within reach";
  EXPECT_EQ(nearest_station(place, {{-37.5, 150, 200}}), std::nullopt) << "56 km";
  EXPECT_EQ(nearest_station(place, {{-37.1, 150, kUnknown}}), 0u);
  EXPECT_EQ(nearest_station(place, {{-37.1, 150, 300}, {-36.9, 150, 210}}), 1u) << "of equally near ones by the ground";
  EXPECT_EQ(nearest_station(place, {}), std::nullopt);
}

class StationTable : public ::testing::Test {
 protected:
  Inspection look(const std::string& text, double latitude = -37, double longitude = 150) {
    Feed feed;
    feed.observed = true;
    return inspect(feed, folder_.write("s.csv", text).string(), PointOfInterest{latitude, longitude, kUnknown}, {});
  }
  static std::string why(const Inspection& seen) {
    std::string text;
    for (const Refusal& refusal : seen.refused) text += refusal.why + " " + refusal.hint + "\n";
    return text;
  }
  test::TempDir folder_;
};

TEST_F(StationTable, IsReadAsSeriesOfItsStations) {
  const Inspection seen = look(
      "station,time_utc,latitude [deg],longitude [deg],elevation [m],air_temperature [[degF]],wind_speed [m/s],"
      "precipitation_amount [mm]\n"
      "a,2027-03-30T00:00:00Z,-37.2,150,40,50,10,0.2\n"
      "a,2027-03-30T02:00:00Z,-37.2,150,40,68,,0.4\n"
      "b,2027-03-30T01:00:00Z,-36.9,150,90,41,5,\n");
  EXPECT_TRUE(seen.accepted) << why(seen);
  EXPECT_EQ(seen.format, "station table");
  ASSERT_TRUE(seen.grid);
  EXPECT_EQ(seen.grid->kind, "stations");
  EXPECT_EQ(seen.grid->nx, 2u);
  ASSERT_TRUE(seen.at);
  // The nearer is b, of the second hour only.
  const auto& warmth = seen.at->values.at("air_temperature");
  ASSERT_GE(warmth.size(), 3u);
  EXPECT_TRUE(std::isnan(warmth[0]));
  EXPECT_NEAR(warmth[1], 5, 1e-5);
  const Inspection south = look(
      "station,time_utc,latitude [deg],longitude [deg],elevation [m],air_temperature [[degF]]\n"
      "a,2027-03-30T00:00:00Z,-37.2,150,40,50\n"
      "b,2027-03-30T00:00:00Z,-36.9,150,90,41\n",
      -37.3);
  EXPECT_NEAR(south.at->values.at("air_temperature")[0], 10, 1e-5);
}

TEST_F(StationTable, WithoutAPlaceOrWithAMistakeIsRefusedByLine) {
  EXPECT_NE(why(look("station,time_utc,air_temperature [Cel]\na,2027-03-30T00:00:00Z,20\n")).find("\"a\" states no place"),
            std::string::npos);
  EXPECT_NE(why(look("station,time_utc,latitude [deg],longitude [deg],air_temperature [Cel]\n"
                     "a,2027-03-30T00:00:00Z,-37,150,20\na,2027-03-30T01:00:00Z,-37.5,150,20\n"))
                .find("moves"),
            std::string::npos);
  EXPECT_NE(why(look("station,time_utc,latitude [deg],longitude [deg],air_temperatur [Cel]\n"
                     "a,2027-03-30T00:00:00Z,-37,150,20\n"))
                .find("did you mean \"air_temperature\"?"),
            std::string::npos);
  EXPECT_NE(why(look("station,time_utc,latitude [deg],longitude [deg],air_temperature [Cel]\n"
                     "a,2027-03-30T00:00:00Z,-37,150,20\na,2027-03-30T01:0"))
                .find("cut off"),
            std::string::npos);
}

}  // namespace
}  // namespace hakea::ingest
