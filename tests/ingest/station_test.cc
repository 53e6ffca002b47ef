// Stations: tables of them, and which one speaks for a place.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <functional>

#include "ingest/inspect.h"
#include "ingest/run/forecast_run.h"
#include "ingest/station/nearest.h"
#include "tests/support/case_file.h"
#include "tests/support/netcdf_writer.h"
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

using Order = std::vector<std::size_t>;

TEST(Stations, TheNearestWithinReachBothWaysSpeakInTurn) {
  const StationSite place{-37, 150, 200};
  EXPECT_EQ(nearest_stations(place, {{-37.3, 150, 200}, {-37.1, 150, 200}, {-37.2, 150, 200}}), (Order{1, 2, 0}));
  EXPECT_EQ(nearest_stations(place, {{-37.3, 150, 400}, {-37.1, 150, 501}}), Order{0}) << "301 m higher is another country";
  EXPECT_EQ(nearest_stations(place, {{-37.1, 150, 500}}), Order{0}) << "300 m is within reach";
  EXPECT_EQ(nearest_stations(place, {{-37.5, 150, 200}}), Order()) << "56 km";
  EXPECT_EQ(nearest_stations(place, {{-37.1, 150, kUnknown}}), Order{0});
  EXPECT_EQ(nearest_stations(place, {{-37.1, 150, 300}, {-36.9, 150, 210}}), (Order{1, 0}))
      << "of equally near ones by the ground";
  EXPECT_EQ(nearest_stations(place, {}), Order());
  EXPECT_EQ(nearest_stations(place, std::vector<StationSite>(20, {-37.1, 150, 200})), (Order{0, 1, 2, 3})) << "and no more";
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
  // The nearer is b, of the second hour only; for the others a speaks.
  const auto& warmth = seen.at->values.at("air_temperature");
  ASSERT_GE(warmth.size(), 3u);
  EXPECT_NEAR(warmth[0], 10, 1e-5);
  EXPECT_NEAR(warmth[1], 5, 1e-5);
  EXPECT_NEAR(warmth[2], 20, 1e-5);
  const auto& wind = seen.at->values.at("wind_speed");
  EXPECT_NEAR(wind[0], 36, 1e-4);
  EXPECT_TRUE(std::isnan(wind[2])) << "neither";
  EXPECT_EQ(seen.at->note, "as seen by b (11.1 km), else by a (22.2 km)");
  const Inspection south = look(
      "station,time_utc,latitude [deg],longitude [deg],elevation [m],air_temperature [[degF]]\n"
      "a,2027-03-30T00:00:00Z,-37.2,150,40,50\n"
      "b,2027-03-30T00:00:00Z,-36.9,150,90,41\n",
      -37.3);
  EXPECT_NEAR(south.at->values.at("air_temperature")[0], 10, 1e-5);
}

// CF 9.5: the series of a file are named by a variable along their dimension.
class StationFile : public StationTable {
 protected:
  // Two stations and an hour, named as `name` says.
  std::string written(const std::function<void(const test::NetcdfWriter&, int station, int letters)>& name) {
    const std::string path = (folder_.path() / "s.nc").string();
    const test::NetcdfWriter nc(path, NC_NETCDF4);
    const int station = nc.dimension("station", 2), time = nc.dimension("time", 1), letters = nc.dimension("letters", 8);
    const int t = nc.variable("time", NC_DOUBLE, {time}), y = nc.variable("lat", NC_DOUBLE, {station}),
              x = nc.variable("lon", NC_DOUBLE, {station}), v = nc.variable("warmth", NC_FLOAT, {time, station});
    nc.text(t, "units", "hours since 2027-03-30 00:00");
    nc.text(y, "units", "degrees_north");
    nc.text(x, "units", "degrees_east");
    nc.text(v, "units", "degC");
    nc.text(v, "standard_name", "air_temperature");
    nc.text(v, "coordinates", "lat lon");
    nc.write(t, {0}, {1}, {0});
    nc.write(y, {0}, {2}, {-37.1, -37.2});
    nc.write(x, {0}, {2}, {150, 150});
    nc.write(v, {0, 0}, {1, 2}, {10, 20});
    name(nc, station, letters);
    return path;
  }
  std::vector<std::string> names(const std::function<void(const test::NetcdfWriter&, int station, int letters)>& name) {
    Feed feed;
    feed.observed = true;
    const auto plan = plan_run(feed, {written(name)}, {{-37, 150, kUnknown}});
    EXPECT_TRUE(plan);
    return plan ? plan->stations : std::vector<std::string>();
  }
};

using Names = std::vector<std::string>;

TEST_F(StationFile, NamesItsStations) {
  EXPECT_EQ(names([](const test::NetcdfWriter& nc, int station, int letters) {
              nc.letters(nc.variable("station_description", NC_CHAR, {station, letters}), {"hill", "vale"}, 8);
              nc.letters(nc.variable("station_name", NC_CHAR, {station, letters}), {"hut", "tarn\xff\n"}, 8);
            }),
            (Names{"hut", "tarn??"}));
  EXPECT_EQ(names([](const test::NetcdfWriter& nc, int station, int) {
              const int id = nc.variable("wmo", NC_INT, {station});
              nc.text(id, "cf_role", "timeseries_id");
              nc.write(id, {0}, {2}, {94001, 94002});
            }),
            (Names{"94001", "94002"}));
  EXPECT_EQ(names([](const test::NetcdfWriter&, int, int) {}), (Names{"-37.1000,150.0000", "-37.2000,150.0000"}))
      << "without a name by its place";
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
