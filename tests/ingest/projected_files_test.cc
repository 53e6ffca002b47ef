// Files on map projections: a place of a published example is found in a file by its grid mapping, and winds along the grid
// are turned.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "ingest/inspect.h"
#include "tests/support/netcdf_writer.h"
#include "tests/support/small_forecast.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

using Numbers = std::vector<std::pair<const char*, double>>;

struct MapExample {
  const char *name, *mapping;
  Numbers parameters;
  double latitude, longitude, x, y;  // metres, or degrees of a rotated pole
  double turn;                       // of the grid's y axis from true north, degrees clockwise
  const char* axis_unit = "m";
};
void PrintTo(const MapExample& e, std::ostream* out) { *out << e.name; }

// Snyder (1987), USGS Professional Paper 1395, numerical examples, on the figures of the earth used there; with their
// convergence, by the formulas of the same paper or from PROJ 9.1 (pyproj's get_factors) where a figure is an ellipsoid.
// Rotated pole: by spherical trigonometry, as in grid_test.cc.
const Numbers kClarke{{"semi_major_axis", 6378206.4}, {"semi_minor_axis", 6356583.8}};
Numbers with(Numbers a, const Numbers& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}
const std::vector<MapExample> kExamples{
    {"lambert", "lambert_conformal_conic",
     with({{"standard_parallel", 33},
           {"standard_parallel", 45},
           {"latitude_of_projection_origin", 23},
           {"longitude_of_central_meridian", -96}},
          kClarke),
     35, -75, 1894410.9, 1564649.5, 0.6304777 * 21},  // p. 296; cone constant times the distance from the meridian
    {"polar_stereographic_of_the_south",
     "polar_stereographic",
     {{"latitude_of_projection_origin", -90},
      {"standard_parallel", -71},
      {"straight_vertical_longitude_from_pole", -100},
      {"semi_major_axis", 6378388},
      {"inverse_flattening", 297}},
     -75,
     150,
     -1540033.6,
     -560526.4,
     110},  // p. 315
    {"mercator",
     "mercator",
     {{"longitude_of_projection_origin", 180}, {"standard_parallel", 0}, {"earth_radius", 6370997}},
     35,
     -75,
     1.8325957 * 6370997,
     0.6528366 * 6370997,
     0},  // p. 266, of a sphere of radius 1
    {"transverse_mercator", "transverse_mercator",
     with({{"latitude_of_projection_origin", 0},
           {"longitude_of_central_meridian", -75},
           {"scale_factor_at_central_meridian", 0.9996}},
          kClarke),
     40.5, -73.5, 127106.5, 4484124.4, 0.9743},  // p. 269
    {"transverse_mercator_in_kilometres", "transverse_mercator",
     with({{"latitude_of_projection_origin", 0},
           {"longitude_of_central_meridian", -75},
           {"scale_factor_at_central_meridian", 0.9996}},
          kClarke),
     40.5, -73.5, 127106.5, 4484124.4, 0.9743, "km"},
    {"rotated_pole",
     "rotated_latitude_longitude",
     {{"grid_north_pole_latitude", 39.25}, {"grid_north_pole_longitude", -162}},
     60,
     25,
     3.54125,
     9.41758,
     5.48954,
     "degrees"},
};

class ProjectedFile : public ::testing::TestWithParam<MapExample> {};

TEST_P(ProjectedFile, HasItsPlacesAndWinds) {
  const MapExample& e = GetParam();
  const test::TempDir folder;
  const std::string path = (folder.path() / "map.nc").string();
  const bool in_degrees = std::string(e.axis_unit) == "degrees";
  const double spacing = in_degrees ? 0.1 : 10000, per_unit = std::string(e.axis_unit) == "km" ? 1000 : 1;
  // Five by four cells around the place, not symmetrically; the x offset in cells as temperature, the y offset as dew point.
  constexpr std::size_t kColumns = 5, kRows = 4;
  std::vector<double> xs, ys, eastwards, northwards;
  for (std::size_t i = 0; i < kColumns; ++i) xs.push_back((e.x + (static_cast<double>(i) - 1.7) * spacing) / per_unit);
  for (std::size_t j = 0; j < kRows; ++j) ys.push_back((e.y + (static_cast<double>(j) - 1.4) * spacing) / per_unit);
  for (std::size_t j = 0; j < kRows; ++j)
    for (std::size_t i = 0; i < kColumns; ++i) {
      eastwards.push_back(static_cast<double>(i));
      northwards.push_back(static_cast<double>(j));
    }
  {
    const test::NetcdfWriter nc(path, NC_NETCDF4);
    const int time = nc.dimension("time", 1), y = nc.dimension("y", kRows), x = nc.dimension("x", kColumns);
    const int t = nc.variable("time", NC_DOUBLE, {time}), yv = nc.variable("y", NC_DOUBLE, {y}),
              xv = nc.variable("x", NC_DOUBLE, {x}), map = nc.variable("map", NC_INT, {});
    nc.text(t, "units", "hours since 2027-03-30 00:00");
    nc.text(yv, "standard_name", in_degrees ? "grid_latitude" : "projection_y_coordinate");
    nc.text(xv, "standard_name", in_degrees ? "grid_longitude" : "projection_x_coordinate");
    for (const int axis : {yv, xv}) nc.text(axis, "units", e.axis_unit);
    nc.text(map, "grid_mapping_name", e.mapping);
    std::map<std::string, std::vector<double>> parameters;
    for (const auto& [name, value] : e.parameters) parameters[name].push_back(value);
    for (const auto& [name, values] : parameters)
      test::check_netcdf(nc_put_att_double(nc.file(), map, name.c_str(), NC_DOUBLE, values.size(), values.data()));
    nc.write(t, {0}, {1}, {0});
    nc.write(yv, {0}, {kRows}, ys);
    nc.write(xv, {0}, {kColumns}, xs);
    const auto field = [&](const char* name, const char* standard, const char* unit, const std::vector<double>& values) {
      nc_redef(nc.file());
      const int v = nc.variable(name, NC_FLOAT, {time, y, x});
      nc.text(v, "standard_name", standard);
      nc.text(v, "units", unit);
      nc.text(v, "grid_mapping", "map");
      nc.write(v, {0, 0, 0}, {1, kRows, kColumns}, values);
    };
    field("t2m", "air_temperature", "degC", eastwards);
    field("d2m", "dew_point_temperature", "degC", northwards);
    field("u10", "x_wind", "m s-1", std::vector<double>(kRows * kColumns, 0));
    field("v10", "y_wind", "m s-1", std::vector<double>(kRows * kColumns, 5));
  }
  const Inspection i = inspect({}, path, PointOfInterest{e.latitude, e.longitude}, {});
  ASSERT_TRUE(i.accepted) << (i.refused.empty() ? "" : i.refused[0].why);
  EXPECT_EQ(i.grid->kind, e.mapping);
  const auto value = [&](const char* key) { return static_cast<double>(i.at->values.at(key).at(0)); };
  EXPECT_NEAR(value("air_temperature"), 1.7, 1e-4);  // 1 m in 10 km
  EXPECT_NEAR(value("dew_point_temperature"), 1.4, 1e-4);
  // A wind along the grid's y axis blows towards where that points: it comes from the opposite direction.
  EXPECT_NEAR(std::remainder(value("wind_from_direction") - (180 + e.turn), 360), 0, 0.01);
  EXPECT_NEAR(value("wind_speed"), 18, 1e-4);
}

INSTANTIATE_TEST_SUITE_P(Published, ProjectedFile, ::testing::ValuesIn(kExamples), [](const auto& e) { return e.param.name; });

// The place of the published example on a rotated pole, and on one that is not rotated: the axes point five degrees apart.
class WindsOnTwoGrids : public ::testing::Test {
 protected:
  struct Axes {
    double pole_latitude, pole_longitude, y, x;  // of the place, as in kExamples
    double half_cell;                            // of a staggered grid
  };
  static constexpr Axes kRotated{39.25, -162, 9.41758, 3.54125, 0}, kStaggered{39.25, -162, 9.41758, 3.54125, 0.05},
      kPlain{90, 180, 60, 25, 0};

  // 5 m/s along the y axis, its components on grids of their own.
  Inspection look(const Axes& of_u, const Axes& of_v) {
    const std::string path = (folder_.path() / "two.nc").string();
    {
      const test::NetcdfWriter nc(path, NC_NETCDF4);
      const int time = nc.dimension("time", 1), t = nc.variable("time", NC_DOUBLE, {time});
      nc.text(t, "units", "hours since 2027-03-30 00:00");
      nc.write(t, {0}, {1}, {0});
      const auto field = [&](const std::string& name, const std::string& standard, const Axes& axes, double value) {
        nc_redef(nc.file());
        const int y = nc.dimension("y_" + name, 4), x = nc.dimension("x_" + name, 4);
        const int yv = nc.variable("y_" + name, NC_DOUBLE, {y}), xv = nc.variable("x_" + name, NC_DOUBLE, {x}),
                  map = nc.variable("map_" + name, NC_INT, {}), v = nc.variable(name, NC_FLOAT, {time, y, x});
        nc.text(yv, "standard_name", "grid_latitude");
        nc.text(xv, "standard_name", "grid_longitude");
        for (const int axis : {yv, xv}) nc.text(axis, "units", "degrees");
        nc.text(map, "grid_mapping_name", "rotated_latitude_longitude");
        nc.number(map, "grid_north_pole_latitude", axes.pole_latitude);
        nc.number(map, "grid_north_pole_longitude", axes.pole_longitude);
        nc.text(v, "standard_name", standard);
        nc.text(v, "units", "m s-1");
        nc.text(v, "grid_mapping", "map_" + name);
        std::vector<double> ys, xs;
        for (const double cell : {-0.15, -0.05, 0.05, 0.15}) {
          ys.push_back(axes.y + cell);
          xs.push_back(axes.x + cell + axes.half_cell);
        }
        nc.write(yv, {0}, {4}, ys);
        nc.write(xv, {0}, {4}, xs);
        nc.write(v, {0, 0, 0}, {1, 4, 4}, std::vector<double>(16, value));
      };
      field("u10", "x_wind", of_u, 0);
      field("v10", "y_wind", of_v, 5);
    }
    return inspect({}, path, PointOfInterest{60, 25}, {});
  }
  test::TempDir folder_;
};

TEST_F(WindsOnTwoGrids, AreRefusedWhereTheirAxesPointToOtherDirections) {
  const Inspection seen = look(kRotated, kPlain);
  ASSERT_EQ(seen.refused.size(), 1u);
  EXPECT_EQ(seen.refused[0].variable, "v10");
  EXPECT_NE(seen.refused[0].why.find("along the axes of another grid than the first wind"), std::string::npos)
      << seen.refused[0].why;
  EXPECT_NE(seen.refused[0].hint.find("towards east and north"), std::string::npos) << seen.refused[0].hint;
  ASSERT_TRUE(seen.at);
  for (const char* key : {"wind_speed", "wind_from_direction"}) {
    const auto wind = seen.at->values.find(key);
    EXPECT_TRUE(wind == seen.at->values.end() || std::isnan(wind->second.at(0))) << key << " of one component";
  }
}

TEST_F(WindsOnTwoGrids, AreReadWhereAStaggeredGridHasTheSameAxes) {
  const double turn = std::find_if(kExamples.begin(), kExamples.end(), [](const MapExample& e) {
                        return std::string_view(e.name) == "rotated_pole";
                      })->turn;
  ASSERT_GT(std::abs(turn), 1);
  for (const auto& [u, v, expected] :
       {std::tuple(kRotated, kStaggered, turn), std::tuple(kRotated, kRotated, turn), std::tuple(kPlain, kPlain, 0.0)}) {
    const Inspection seen = look(u, v);
    EXPECT_TRUE(seen.refused.empty()) << (seen.refused.empty() ? "" : seen.refused[0].why);
    const auto value = [&](const char* key) { return static_cast<double>(seen.at->values.at(key).at(0)); };
    EXPECT_NEAR(std::remainder(value("wind_from_direction") - (180 + expected), 360), 0, 0.01);
    EXPECT_NEAR(value("wind_speed"), 18, 1e-4);
  }
}

// Cells whose places a file gives itself are believed before a projection that does not lead there.
TEST(ProjectedFile, YieldsToTheLatitudesAndLongitudesOfItsCells) {
  const test::TempDir folder;
  const std::string path = (folder.path() / "both.nc").string();
  {
    const test::NetcdfWriter nc(path, NC_NETCDF4);
    const int y = nc.dimension("y", 2), x = nc.dimension("x", 2), time = nc.dimension("time", 1);
    const int t = nc.variable("time", NC_DOUBLE, {time}), yv = nc.variable("y", NC_DOUBLE, {y}),
              xv = nc.variable("x", NC_DOUBLE, {x}), lat = nc.variable("lat", NC_DOUBLE, {y, x}),
              lon = nc.variable("lon", NC_DOUBLE, {y, x}), map = nc.variable("map", NC_INT, {}),
              v = nc.variable("t2m", NC_FLOAT, {time, y, x});
    nc.text(t, "units", "hours since 2027-03-30 00:00");
    nc.text(yv, "standard_name", "projection_y_coordinate");
    nc.text(xv, "standard_name", "projection_x_coordinate");
    nc.text(yv, "units", "m");
    nc.text(xv, "units", "m");
    nc.text(lat, "units", "degrees_north");
    nc.text(lon, "units", "degrees_east");
    nc.text(map, "grid_mapping_name", "mercator");
    nc.number(map, "longitude_of_projection_origin", 140);
    nc.number(map, "earth_radius", 6371229);
    nc.text(v, "standard_name", "air_temperature");
    nc.text(v, "units", "degC");
    nc.text(v, "grid_mapping", "map");
    nc.text(v, "coordinates", "lat lon");
    // The same latitudes, a degree further east than the projection says.
    nc.write(t, {0}, {1}, {0});
    nc.write(yv, {0}, {2}, {0, 111194.9});
    nc.write(xv, {0}, {2}, {0, 111198.9});
    nc.write(lat, {0, 0}, {2, 2}, {0, 0, 0.99995, 0.99995});
    nc.write(lon, {0, 0}, {2, 2}, {141, 142, 141, 142});
    nc.write(v, {0, 0, 0}, {1, 2, 2}, {10, 20, 10, 20});
  }
  const Inspection i = inspect({}, path, PointOfInterest{0.5, 141.5}, {});
  ASSERT_TRUE(i.accepted);
  EXPECT_NEAR(static_cast<double>(i.at->values.at("air_temperature")[0]), 15, 0.01);
  EXPECT_TRUE(std::any_of(i.notes.begin(), i.notes.end(),
                          [](const std::string& n) { return n.find("places of the cells disagree") != std::string::npos; }));
}

TEST(Track, OfAMovingStationIsRefusedAndAnAscentIsAProfile) {
  const test::TempDir folder;
  for (const bool has_pressure : {false, true}) {
    const std::string path = (folder.path() / "track.nc").string();
    {
      const test::NetcdfWriter nc(path, NC_NETCDF4);
      const int time = nc.dimension("time", 3);
      const int t = nc.variable("time", NC_DOUBLE, {time}), lat = nc.variable("lat", NC_DOUBLE, {time}),
                lon = nc.variable("lon", NC_DOUBLE, {time}), v = nc.variable("ta", NC_FLOAT, {time});
      nc.text(t, "units", "seconds since 2027-03-30 00:00");
      nc.text(lat, "units", "degrees_north");
      nc.text(lon, "units", "degrees_east");
      nc.text(v, "standard_name", "air_temperature");
      nc.text(v, "units", "degC");
      if (has_pressure) {
        const int p = nc.variable("pres", NC_FLOAT, {time});
        nc.text(p, "units", "Pa");
        nc.write(p, {0}, {3}, {101000, 100000, 99000});
      }
      nc.write(t, {0}, {3}, {0, 2, 4});
      nc.write(lat, {0}, {3}, {-36, -36.1, -36.2});
      nc.write(lon, {0}, {3}, {145, 145.1, 145.2});
      nc.write(v, {0}, {3}, {20, 19, 18});
    }
    const auto plan = plan_run({}, {path}, {{-36, 145}});
    ASSERT_TRUE(plan);
    if (!has_pressure) {
      EXPECT_TRUE(plan->fields.empty());
      ASSERT_EQ(plan->refusals.size(), 1U);
      EXPECT_NE(plan->refusals[0].why.find("changes its place with the time"), std::string::npos);
      continue;
    }
    ASSERT_EQ(plan->fields.size(), 1U);
    EXPECT_EQ(plan->fields[0].fed, core::Fed::level_temperature);
    EXPECT_EQ(plan->levels_hpa, (std::vector<double>{1010, 1000, 990}));
    EXPECT_EQ(plan->steps.size(), 1U);
    EXPECT_EQ(plan->sampled_at[0].latitude_deg, -36);
  }
}

// A companion file has the height of the model's ground, on a grid of its own.
TEST(Companion, GivesTheHeightOfTheGroundWhereTheForecastHasNone) {
  const test::TempDir folder;
  const std::string forecast =
      test::write_forecast((folder.path() / "a.nc").string(), {.fields = {{"t2m", "air_temperature", "degC", {20}}}});
  test::SmallForecast ground{.fields = {{"z", "surface_altitude", "m", {100, 200, 300, 400}, {}, {}, NC_FLOAT, true}}};
  ground.latitudes = {-38, -35};
  ground.longitudes = {144, 148};
  Feed feed;
  feed.orography = test::write_forecast((folder.path() / "ground.nc").string(), ground);
  const auto plan = plan_run(feed, {forecast}, {{-36.5, 145}, {-30, 145}});
  ASSERT_TRUE(plan);
  EXPECT_TRUE(plan->refusals.empty());
  // Half way north and a quarter of the way east: (100 + 300) / 2 + 100 / 4.
  EXPECT_NEAR(static_cast<double>(plan->model_elevation_m[0]), 225, 1e-3);
  EXPECT_TRUE(std::isnan(plan->model_elevation_m[1]));
  const Inspection seen = inspect({}, feed.orography, {}, {});
  EXPECT_TRUE(seen.accepted);
  EXPECT_NE(seen.notes.back().find("orography or land_mask"), std::string::npos) << seen.notes.back();
  // A file without it is refused by name.
  ground.fields = {{"lsm", "land_binary_mask", "1", {1}, {}, {}, NC_FLOAT, true}};
  feed.orography = test::write_forecast((folder.path() / "none.nc").string(), ground);
  const auto without = plan_run(feed, {forecast}, {{-36.5, 145}});
  ASSERT_TRUE(without);
  ASSERT_EQ(without->refusals.size(), 1u);
  EXPECT_NE(without->refusals[0].why.find("surface_altitude"), std::string::npos);
}

}  // namespace
}  // namespace hakea::ingest
