#include "service/input/unit_json.h"

#include <gtest/gtest.h>

#include <cmath>

#include "service/input/spread_points.h"

namespace hakea::service {
namespace {

const std::string kSquare =
    R"("geometry":{"type":"Polygon","coordinates":[[[152,-38],[153,-38],[153,-37],[152,-37],[152,-38]]]})";

std::string feature(const std::string& properties, const std::string& geometry = kSquare,
                    const std::string& id = "sawpit-ridge") {
  return R"({"type":"Feature","id":")" + id + "\"," + geometry + R"(,"properties":{"time_zone":"Australia/Sydney")" +
         (properties.empty() ? "" : ",") + properties + "}}";
}

struct Refused {
  std::string name, text, code, pointer;
};
void PrintTo(const Refused& row, std::ostream* out) { *out << row.code; }

std::vector<Refused> refusals() {
  return {
      {"AnIdThatIsNoSlug", feature("", kSquare, "Sawpit Ridge"), "not_a_slug", "/id"},
      {"NoId", R"({"type":"Feature",)" + kSquare + R"(,"properties":{"time_zone":"UTC"}})", "required", "/id"},
      {"NoGeometry", R"({"type":"Feature","id":"a","properties":{"time_zone":"UTC"}})", "required", "/geometry"},
      {"NoTimeZone", R"({"type":"Feature","id":"a",)" + kSquare + R"(,"properties":{}})", "required", "/properties/time_zone"},
      {"AnUnknownTimeZone", R"({"type":"Feature","id":"a",)" + kSquare + R"(,"properties":{"time_zone":"Australia/Sidney"}})",
       "unknown_time_zone", "/properties/time_zone"},
      {"ALineAsGeometry", feature("", R"("geometry":{"type":"LineString","coordinates":[[1,2],[3,4]]})"), "unknown_word",
       "/geometry/type"},
      {"AnOpenRing", feature("", R"("geometry":{"type":"Polygon","coordinates":[[[152,-38],[153,-38],[153,-37],[152,-37]]]})"),
       "ring_not_closed", "/geometry/coordinates/0"},
      {"LatitudeFirst", feature("", R"("geometry":{"type":"Point","coordinates":[-37,152]})"), "out_of_range",
       "/geometry/coordinates"},
      {"AnUnknownStatus", feature(R"("status":"burnt")"), "unknown_word", "/properties/status"},
      {"APriorityOfSix", feature(R"("priority":6)"), "out_of_range", "/properties/priority"},
      {"AnUnknownFuel", feature(R"("fuel":{"type":"dry-eucalypt"})"), "unknown_fuel", "/properties/fuel/type"},
      {"AnUnknownFuelMember", feature(R"("fuel":{"type":"heath","load":3})"), "unknown_member", "/properties/fuel/load"},
      {"ABearingBeyondTheCircle", feature(R"("sea_bearing_deg":400)"), "out_of_range", "/properties/sea_bearing_deg"},
      {"AnUnknownProperty", feature(R"("elevation":210)"), "unknown_member", "/properties/elevation"},
      {"AStateWithoutDate", feature(R"("initial_state":{"kbdi":83})"), "required", "/properties/initial_state/as_of"},
      {"AKbdiAboveItsScale", feature(R"("initial_state":{"as_of":"2027-03-29","kbdi":250})"), "out_of_range",
       "/properties/initial_state/kbdi"},
      {"APointWithoutPosition", feature(R"("points":[{"elevation_m":3}])"), "required", "/properties/points/0/position"},
      {"AMistakeOfThePrescription",
       feature(
           R"("prescription":{"limits":[{"quantity":"ffdi","scope":"each_hour","kind":"hard","acceptable":{"min":5,"max":2}}]})"),
       "reversed", "/properties/prescription/limits/0/acceptable/min"},
      {"AMistakeOfANamedPrescription", feature(R"("prescriptions":{"edging":{"limits":[],"duration":2}})"), "unknown_member",
       "/properties/prescriptions/edging/duration"},
      {"TwoUnitsOfOneId", R"({"type":"FeatureCollection","features":[)" + feature("") + "," + feature("") + "]}", "repeated_id",
       "/features/1/id"},
      {"SomethingElse", R"({"type":"Topology"})", "unknown_word", "/type"},
  };
}

class UnitRefusal : public ::testing::TestWithParam<Refused> {};

TEST_P(UnitRefusal, NamesItsCodeAndPointer) {
  const auto units = parse_units(GetParam().text, built_in_fuels());
  ASSERT_FALSE(units) << "accepted";
  EXPECT_EQ(units.error().code, GetParam().code) << units.error().what;
  EXPECT_EQ(units.error().where, GetParam().pointer) << units.error().what;
}

INSTANTIATE_TEST_SUITE_P(Unit, UnitRefusal, ::testing::ValuesIn(refusals()), [](const auto& row) { return row.param.name; });

TEST(UnitJson, ReadsWhatIsGivenAndFillsTheRest) {
  const auto units = parse_units(
      feature(R"("name":"Sawpit Ridge","district":"tallowmere","area_ha":85,"elevation_m":210,"slope_deg":12,"aspect_deg":315,
    "fuel":{"type":"dry-eucalypt-forest","load_t_ha":12,"curing_pct":null},"annual_rain_mm":900,"airshed":"valley","adjacent":["east-slope"],"after":[{"unit":"x","days":7}],
    "needs":{"crews":2,"depot":"quarry-flat"},"notice_days":1,
    "points":[{"position":[152.6,-37.7],"sheltered":true},{"position":[152.7,-37.8],"elevation_m":300}],
    "initial_state":{"as_of":"2027-03-29","kbdi":83,"ffmc":85,"dmc":6,"last_rain":{"ended":"2027-03-22T06:00:00+11:00","amount_mm":6}})"),
      built_in_fuels());
  ASSERT_TRUE(units) << units.error().where << " " << units.error().what;
  const Unit& unit = units->front();
  EXPECT_DOUBLE_EQ(unit.traits.site.latitude_deg, -37.5);
  EXPECT_DOUBLE_EQ(unit.traits.site.longitude_deg, 152.5);
  EXPECT_EQ(unit.traits.fuel.load.value(), 12);
  EXPECT_TRUE(unit.traits.fuel.is_forest);
  EXPECT_TRUE(unit.traits.fuel.curing.is_missing());
  ASSERT_EQ(unit.points.size(), 2U);
  EXPECT_TRUE(unit.points[0].site.sheltered);
  EXPECT_EQ(unit.points[0].site.elevation.value(), 210);  // the unit's, where a point says nothing
  EXPECT_EQ(unit.points[1].site.elevation.value(), 300);
  EXPECT_EQ(unit.after[0].days, 7);
  EXPECT_EQ(unit.initial_state->kbdi.value(), 83);
  EXPECT_EQ(unit.initial_state->ffmc.value(), 85);
  EXPECT_EQ(unit.initial_state->dmc.value(), 6);
  EXPECT_EQ(unit.initial_state->codes.noons_ago, 0) << "as entered: at noon of its date";
  EXPECT_TRUE(unit.initial_state->dc.is_missing());
  EXPECT_EQ(unit.traits.zone.name(), "Australia/Sydney");
  EXPECT_EQ(unit.status, "ready");
  EXPECT_EQ(unit.priority, 3);
}

TEST(UnitJson, AcceptsAPoint) {
  const auto units = parse_units(feature("", R"("geometry":{"type":"Point","coordinates":[-73.78,40.64]})"), built_in_fuels());
  ASSERT_TRUE(units) << units.error().what;
  EXPECT_DOUBLE_EQ(units->front().points.front().site.latitude_deg, 40.64);
}

TEST(UnitJson, ReportsTheMistakesOfAllUnits) {
  const auto units = parse_units(R"({"type":"FeatureCollection","features":[)" + feature(R"("priority":9)", kSquare, "a") + "," +
                                     feature(R"("status":"x","slope":3)", kSquare, "b") + "]}",
                                 built_in_fuels());
  ASSERT_FALSE(units);
  ASSERT_EQ(units.errors().size(), 3U);
  EXPECT_EQ(units.errors()[0].where, "/features/0/properties/priority");
  EXPECT_EQ(units.errors()[1].where, "/features/1/properties/status");
  EXPECT_EQ(units.errors()[2].where, "/features/1/properties/slope");
}

// JOB 7 H20. Positions by hand: halfway from the middle of a square of 0.06 degrees to its sides; its area is that of
// 6.672 km by 6.672 km times the cosine of 37.56 degrees.
TEST(UnitJson, H20_ALargeUnitWithoutPointsIsAskedAtFive) {
  const std::string square =
      R"("geometry":{"type":"Polygon","coordinates":[[[152,-37.56],[152.06,-37.56],[152.06,-37.5],[152,-37.5],[152,-37.56]]]})";
  const auto points_of = [&](const std::string& properties) {
    const auto units = parse_units(feature(properties, square), built_in_fuels());
    std::vector<std::pair<double, double>> points;
    for (const core::UnitTraits& point : units->front().points)
      points.emplace_back(point.site.latitude_deg, point.site.longitude_deg);
    return points;
  };
  const std::vector<std::pair<double, double>> expected{
      {-37.53, 152.03}, {-37.515, 152.03}, {-37.53, 152.045}, {-37.545, 152.03}, {-37.53, 152.015}};
  const auto found = points_of(R"("elevation_m":600)");
  ASSERT_EQ(found.size(), expected.size());
  for (std::size_t i = 0; i < found.size(); ++i) {
    EXPECT_NEAR(found[i].first, expected[i].first, 1e-9) << i;
    EXPECT_NEAR(found[i].second, expected[i].second, 1e-9) << i;
  }
  EXPECT_EQ(points_of(R"("area_ha":85)").size(), 1U) << "as large as it is said to be";
  EXPECT_EQ(points_of(R"("points":[{"position":[152.01,-37.51]}])").size(), 1U) << "where they are named";
  const auto units = parse_units(feature("", square), built_in_fuels());
  EXPECT_NEAR(area_ha(units->front().geometry), 6.672 * 6.672 * 0.7927 * 100, 5);
}

// A ring with a bay: east of the middle lies water.
TEST(UnitJson, H20_PointsOfALargeUnitLieInsideIt) {
  const auto units = parse_units(
      feature("", R"("geometry":{"type":"Polygon","coordinates":[[[0,0],[3,0],[3,1],[1,1],[1,2],[3,2],[3,3],[0,3],[0,0]]]})"),
      built_in_fuels());
  ASSERT_TRUE(units);
  for (const core::UnitTraits& point : units->front().points) {
    const double x = point.site.longitude_deg, y = point.site.latitude_deg;
    EXPECT_TRUE(&point == &units->front().points.front() || x <= 1 || y <= 1 || y >= 2) << x << " " << y;
  }
  EXPECT_GT(units->front().points.size(), 1U);
}

// A square of 3 by 3 with a hole of 1 by 1 in its lower left: (9 * 1.5 - 1 * 0.5) / 8 by hand.
TEST(Geometry, CentroidLeavesHolesOut) {
  const auto units = parse_units(
      feature("",
              R"("geometry":{"type":"Polygon","coordinates":[[[0,0],[3,0],[3,3],[0,3],[0,0]],[[0,0],[1,0],[1,1],[0,1],[0,0]]]})"),
      built_in_fuels());
  ASSERT_TRUE(units);
  EXPECT_NEAR(units->front().traits.site.longitude_deg, 1.625, 1e-12);
  EXPECT_NEAR(units->front().traits.site.latitude_deg, 1.625, 1e-12);
}

}  // namespace
}  // namespace hakea::service
