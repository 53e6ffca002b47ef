// Projections, axes and stencils.
#include "ingest/grid/grid.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numeric>

namespace hakea::ingest {
namespace {

Projection lambert(double p1, double p2, double lat0, double lon0) {
  Variable m;
  m.attributes = {{"grid_mapping_name", true, "lambert_conformal_conic", {}},
                  {"standard_parallel", false, "", {p1, p2}},
                  {"latitude_of_projection_origin", false, "", {lat0}},
                  {"longitude_of_central_meridian", false, "", {lon0}},
                  {"earth_radius", false, "", {6371229.0}}};
  return *Projection::of(m);
}

Projection rotated(double lat, double lon) {
  Variable m;
  m.attributes = {{"grid_mapping_name", true, "rotated_latitude_longitude", {}},
                  {"grid_north_pole_latitude", false, "", {lat}},
                  {"grid_north_pole_longitude", false, "", {lon}}};
  return *Projection::of(m);
}

std::vector<double> range(double first, double step, int n) {
  std::vector<double> v;
  for (int i = 0; i < n; ++i) v.push_back(first + step * i);
  return v;
}

double value_at(const Stencil& s, const std::function<double(int, int)>& field) {
  double sum = 0;
  for (std::size_t i = 0; i < static_cast<std::size_t>(s.cells); ++i)
    sum += static_cast<double>(s.weight[i]) * field(s.y[i], s.x[i]);
  return sum;
}

// Expected: the spherical formulas of Snyder (1987) USGS PP 1395, eqs. 15-1 to 15-5, evaluated apart from PROJ.
TEST(Projection, LambertOfTheSouthernHemisphere) {
  const Projection p = lambert(-18, -36, -27, 134);
  EXPECT_NEAR(p.forward({-33.87, 151.21}).x, 1575651.234, 0.002);
  EXPECT_NEAR(p.forward({-33.87, 151.21}).y, -864319.329, 0.002);
  EXPECT_NEAR(p.forward({-37.81, 144.96}).x, 967154.484, 0.002);
  EXPECT_NEAR(p.forward({-37.81, 144.96}).y, -1236492.714, 0.002);
  EXPECT_NEAR(p.inverse({967154.484, -1236492.714}).latitude_deg, -37.81, 1e-7);
}

// Expected: cone constant times the difference from the central meridian (Snyder 1987, p. 107).
TEST(H18, WindsAlongALambertGridAreTurnedByTheConvergence) {
  EXPECT_NEAR(lambert(25, 25, 25, -95).rotation_deg({28, -82.5}), 5.28273, 2e-5);
  EXPECT_NEAR(lambert(-18, -36, -27, 134).rotation_deg({-24, 146.5}), -5.69848, 2e-5);
  EXPECT_NEAR(lambert(-18, -36, -27, 134).rotation_deg({-35, 119}), 6.83818, 2e-5);
  // (10, 5) along the grid at (28, -82.5) is (10.4179, 4.0581) over the ground: the same turn of the direction.
  const double grid = std::atan2(-10, -5), earth = std::atan2(-10.4179, -4.0581);
  EXPECT_NEAR((earth - grid) * 57.29577951, 5.28273, 1e-3);
}

// Expected: spherical trigonometry of the rotated globe, written out apart from PROJ; angles clockwise from grid north.
TEST(H18, WindsAlongARotatedGridAreTurnedByTheAngleOfNorth) {
  const Projection p = rotated(39.25, -162);
  EXPECT_NEAR(p.forward({50, 10}).x, -5.13264, 1e-5);
  EXPECT_NEAR(p.forward({50, 10}).y, -0.47243, 1e-5);
  EXPECT_NEAR(p.forward({60, 25}).x, 3.54125, 1e-5);
  EXPECT_NEAR(p.forward({60, 25}).y, 9.41758, 1e-5);
  EXPECT_NEAR(p.rotation_deg({50, 10}), -6.18726, 2e-5);
  EXPECT_NEAR(p.rotation_deg({60, 25}), 5.48954, 2e-5);
}

TEST(Projection, OfAFilesTextIsCleanedOfWhatIsNoParameter) {
  const auto p = Projection::of_definition(
      "\" +proj=sterea +lat_0=52.15616055555555 +lon_0=5.38763888888889 +k=0.9999079 +x_0=155000 +y_0=463000 +ellps=bessel "
      "+nadgrids=@/etc/passwd +<>\"\n");
  ASSERT_TRUE(p);
  EXPECT_EQ(p->definition().find("nadgrids"), std::string::npos);
  EXPECT_EQ(p->definition().find('<'), std::string::npos);
  // The origin of the Dutch national grid lies at (155000, 463000) by definition.
  EXPECT_NEAR(p->forward({52.15616055555555, 5.38763888888889}).x, 155000, 1e-3);
  EXPECT_FALSE(Projection::of_definition("+proj=goode"));
  EXPECT_FALSE(Projection::of_definition("rm -rf"));
}

TEST(Stencil, IsBilinear) {
  // f00 = 10, f10 = 12, f01 = 14, f11 = 20 at (0.25, 0.6) gives 13.5 (atmosphere notes, by hand).
  const Grid g = *Grid::latitude_longitude({0, 1}, {10, 11});
  const double f[2][2] = {{10, 12}, {14, 20}};
  EXPECT_NEAR(value_at(g.stencil({0.6, 10.25}), [&](int y, int x) { return f[y][x]; }), 13.5, 1e-6);
}

TEST(H19, EveryWayToCountLongitudeAndLatitudeFindsTheSameCell) {
  const auto field = [](double lat, double lon) { return 3 * lat + 2 * lon; };
  for (const bool from_north : {false, true})
    for (const double first : {140.0, -220.0, 500.0}) {
      const auto lats = from_north ? range(-30, -0.5, 21) : range(-40, 0.5, 21);
      const auto lons = range(first, 0.5, 21);
      const Grid g = *Grid::latitude_longitude(lats, lons);
      for (const double lon : {143.3, 143.3 - 360, 143.3 + 360}) {
        const Stencil s = g.stencil({-37.21, lon});
        ASSERT_GT(s.cells, 0);
        EXPECT_NEAR(value_at(s, [&](int y, int x) { return field(lats[static_cast<std::size_t>(y)], 140 + 0.5 * x); }),
                    field(-37.21, 143.3), 1e-4);
      }
      EXPECT_EQ(g.stencil({-37.21, 139.9}).cells, 0);
      EXPECT_EQ(g.stencil({-37.21, 150.1}).cells, 0);
      EXPECT_EQ(g.stencil({-29.9, 145}).cells, 0);
      EXPECT_EQ(g.stencil({-40.1, 145}).cells, 0);
    }
}

TEST(H19, TheSeamOfAGlobalGridIsNoGap) {
  for (const double first : {0.0, -180.0}) {
    const Grid g = *Grid::latitude_longitude(range(90, -1, 181), range(first, 0.4, 900));
    for (const double lon : {-180.0, 180.0, 0.0, 360.0, 359.8, -0.2, 179.9, -179.9}) {
      const Stencil s = g.stencil({10.5, lon});
      ASSERT_GT(s.cells, 0) << lon;
      double east = 0, north = 0;  // the mean position of the cells on the circle is the point
      for (std::size_t i = 0; i < static_cast<std::size_t>(s.cells); ++i) {
        const double l = (first + 0.4 * s.x[i]) * 0.017453292519943295;
        east += static_cast<double>(s.weight[i]) * std::cos(l);
        north += static_cast<double>(s.weight[i]) * std::sin(l);
      }
      EXPECT_NEAR(std::remainder(std::atan2(north, east) * 57.29577951308232 - lon, 360), 0, 1e-4) << lon;
    }
  }
}

TEST(Stencil, OfAnAxisAcrossGreenwichAndTheDateLine) {
  const Grid greenwich = *Grid::latitude_longitude({50, 51}, {359.75, 359.85, 359.95, 0.05, 0.15});
  EXPECT_GT(greenwich.stencil({50.5, 0.0}).cells, 0);
  EXPECT_EQ(greenwich.stencil({50.5, 0.2}).cells, 0);
  EXPECT_EQ(greenwich.stencil({50.5, 180}).cells, 0);
  const Grid date_line = *Grid::latitude_longitude({-20, -19}, {178, 179, 180, -179, -178});
  EXPECT_GT(date_line.stencil({-19.5, -179.5}).cells, 0);
  EXPECT_GT(date_line.stencil({-19.5, 178.5}).cells, 0);
  EXPECT_EQ(date_line.stencil({-19.5, -177}).cells, 0);
}

TEST(Stencil, OfUnequalSpacingIsSearchedNotComputed) {
  const Grid g = *Grid::latitude_longitude({-88.5, -60, -59, -10, 0, 3, 80}, range(0, 10, 36));
  EXPECT_EQ(g.kind(), "gaussian");
  EXPECT_NEAR(value_at(g.stencil({-59.25, 15}), [](int y, int x) { return 100.0 * y + x; }), 175 + 1.5, 1e-4);
}

TEST(Grid, RefusesAxesThatTurnBack) {
  EXPECT_FALSE(Grid::latitude_longitude({0, 1, 0.5}, {1, 2}));
  EXPECT_FALSE(Grid::latitude_longitude({0, 1, 1}, {1, 2}));
  EXPECT_FALSE(Grid::latitude_longitude({0, 95}, {1, 2}));
}

TEST(Grid, TwoDimensionalCoordinatesGiveTheProjectionsOwnWeights) {
  const Projection p = lambert(-18, -36, -27, 134);
  const auto axis = range(-600000, 24000, 51);
  const Grid exact = *Grid::projected(p, axis, axis);
  std::vector<double> lat, lon;
  for (const double y : axis)
    for (const double x : axis) {
      const GeoPosition g = p.inverse({x, y});
      lat.push_back(g.latitude_deg);
      lon.push_back(g.longitude_deg);
    }
  const Grid searched = *Grid::curvilinear(lat, lon, axis.size(), axis.size());
  const auto plane = [](int y, int x) { return 7.0 * y + 3.0 * x; };
  for (double latitude = -33; latitude < -21; latitude += 0.37)
    for (double longitude = 127; longitude < 141; longitude += 0.41) {
      const Stencil a = exact.stencil({latitude, longitude}), b = searched.stencil({latitude, longitude});
      ASSERT_EQ(a.cells > 0, b.cells > 0) << latitude << " " << longitude;
      // The sides of a cell are great circles here, straight in the projection: a difference of thousandths of a cell.
      if (!a.cells) continue;
      EXPECT_NEAR(value_at(a, plane), value_at(b, plane), 0.02);
      EXPECT_NEAR(exact.rotation_deg({latitude, longitude}), searched.rotation_deg({latitude, longitude}), 0.001);
    }
  EXPECT_EQ(searched.stencil({-33, 110}).cells, 0);
  EXPECT_EQ(searched.stencil({33, -46}).cells, 0);  // the other side of the globe
}

TEST(Grid, NodesAndPlanesAreReproduced) {
  const Grid g = *Grid::projected(rotated(39.25, -162), range(-23.375, 0.11, 412), range(-28.375, 0.11, 424));
  for (const auto& [j, i] : {std::pair(0, 0), std::pair(17, 400), std::pair(411, 423), std::pair(200, 212)}) {
    const GeoPosition node = g.position(j, i);
    EXPECT_NEAR(value_at(g.stencil(node), [](int y, int x) { return 1000.0 * y + x; }), 1000.0 * j + i, 0.05);
  }
}

// Grid 211 of the World Meteorological Centre at Washington (NCEP Office Note 388, table B): 93 by 65 cells, Lambert true at
// 25 N, 81.2705 km; corners from the note, from memory.
TEST(Grid, StatedByAFeedHasItsCornersWhereItsCatalogueHasThem) {
  const auto g =
      Grid::stated({"+proj=lcc +lat_1=25 +lat_2=25 +lat_0=25 +lon_0=265 +R=6371200", 12.190, -133.459, 81270.5, 81270.5}, 65, 93);
  ASSERT_TRUE(g) << g.error().what;
  const auto expect_at = [&](std::int32_t y, std::int32_t x, double latitude, double longitude) {
    EXPECT_NEAR(g->position(y, x).latitude_deg, latitude, 0.002);
    EXPECT_NEAR(std::remainder(g->position(y, x).longitude_deg - longitude, 360.0), 0, 0.002);
  };
  expect_at(0, 0, 12.190, -133.459);
  expect_at(0, 92, 14.335, -65.091);
  expect_at(64, 0, 54.536, -152.856);
  expect_at(64, 92, 57.290, -49.385);

  const auto globe = Grid::stated({"+proj=longlat", 10, 170, 1, -1}, 3, 21);  // southwards, across the date line
  ASSERT_TRUE(globe) << globe.error().what;
  EXPECT_NEAR(value_at(globe->stencil({8.5, -175}), [](int y, int x) { return 100.0 * y + x; }), 165, 1e-4);
}

TEST(Grid, ASinglePlaceServesOnlyItsNeighbourhood) {
  const Grid g = Grid::places({-37.7}, {145.1});
  EXPECT_EQ(g.stencil({-37.75, 145.15}).cells, 1);
  EXPECT_EQ(g.stencil({-37.9, 145.1}).cells, 0);
  EXPECT_EQ(Grid::nowhere().stencil({0, 0}).cells, 0);
}

// A coast: land in the first column only, of five by five cells (atmosphere.md 7.4).
TEST(KeepLand, TakesLandElseTheNearestWithinTwoCellsElseNothing) {
  std::vector<double> mask(25, 0.4);
  for (std::size_t y = 0; y < 5; ++y) mask[y * 5] = 0.6;
  const auto at = [&](std::int32_t x) {
    Stencil s{{2, 2, 3, 3}, {x, x + 1, x, x + 1}, {0.1F, 0.4F, 0.1F, 0.4F}, 4};
    keep_land(s, mask, 5);
    return s;
  };
  const Stencil shore = at(0);
  ASSERT_EQ(shore.cells, 2);
  EXPECT_FLOAT_EQ(shore.weight[0], 0.5);
  EXPECT_EQ(shore.x[0], 0);
  const Stencil near = at(1);  // the heaviest cell is the third column's
  ASSERT_EQ(near.cells, 1);
  EXPECT_EQ(near.x[0], 0);
  EXPECT_EQ(near.y[0], 2);
  EXPECT_FLOAT_EQ(near.weight[0], 1);
  EXPECT_EQ(at(2).cells, 0);
}

}  // namespace
}  // namespace hakea::ingest
