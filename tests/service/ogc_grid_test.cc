// The grid of a feed at any position: made-up runs, read by the reader child when they are asked for. This program is its own
// reader.
#include <fmt/format.h>

#include <cmath>
#include <filesystem>

#include "tests/support/coverage_schema.h"
#include "tests/support/engine_rig.h"
#include "tests/support/local_request.h"
#include "tests/support/must.h"
#include "tests/support/ogc_rig.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

constexpr const char* kGrid = "/ogc/edr/collections/grid-fine";

class OgcGrid : public EngineRig {
 protected:
  void SetUp() override {
    add_feed("fine", 24);
    enter_unit("u", R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":24}})");
    start();
    parts_ = parts();
  }
  Answer get(const std::string& target) { return answer_of(respond(parts_, local_request("GET", target))); }
  Answer at_point(const std::string& point, const std::string& more = {}) {
    return get(fmt::format("{}/position?coords=POINT({}){}", kGrid, point, more));
  }
  ApiParts parts_;
};

TEST_F(OgcGrid, ComesWithTheFirstRun) {
  EXPECT_EQ(get(kGrid).status, 404) << "before it nothing is known of the grid";
  put({.last_lead_h = 24});
  catch_up();
  const Answer answer = get(kGrid);
  EXPECT_EQ(answer.at("/extent/spatial/bbox"), "[[149,-38,151,-36]]");
  EXPECT_EQ(answer.at("/extent/temporal/interval"), R"([["2027-03-29T12:00:00Z","2027-03-30T12:00:00Z"]])");
  const json::object& parameters = answer.body.at("parameter_names").as_object();
  EXPECT_TRUE(parameters.contains("wind_speed"));
  EXPECT_TRUE(parameters.contains("relative_humidity"));
  EXPECT_FALSE(parameters.contains("mixing_height")) << "the run has no levels";
  EXPECT_FALSE(parameters.contains("ffdi")) << "a point has no fuel";
}

TEST_F(OgcGrid, SaysAtAPointWhatTheFilesSay) {
  put({.last_lead_h = 24});
  catch_up();
  const Answer answer =
      at_point("149.5+-36.5", "&parameter-name=air_temperature,wind_speed,wind_from_direction,relative_humidity");
  ASSERT_EQ(answer.status, 200) << answer.text;
  EXPECT_EQ(answer.type, "application/prs.coverage+json");
  EXPECT_EQ(answer.at("/domain/axes/x/values"), "[149.5]");
  EXPECT_EQ(answer.at("/domain/axes/y/values"), "[-36.5]");
  const Strings times = times_of(answer);
  ASSERT_EQ(times.size(), 25U);
  EXPECT_EQ(times.front(), "2027-03-29T12:00:00Z");
  for (std::size_t lead = 0; lead < times.size(); ++lead) {
    // As the file was made: 16 + 6 sin, and a wind of (3 + sin, -1) m/s.
    const double warmth = std::sin((12 + static_cast<double>(lead) - 22) / 24 * 2 * 3.14159265358979);
    const auto value = [&](const char* name) {
      return answer.body.at("ranges").at(name).at("values").as_array().at(lead).to_number<double>();
    };
    EXPECT_NEAR(value("air_temperature"), 16 + 6 * warmth, 1e-4) << lead;
    EXPECT_NEAR(value("wind_speed"), 3.6 * std::hypot(3 + warmth, 1), 1e-4) << lead;
    EXPECT_NEAR(value("wind_from_direction"), 270 + std::atan2(1, 3 + warmth) * 180 / 3.14159265358979, 1e-3) << lead;
  }
  EXPECT_EQ(answer.at("/run/id"), R"("fine.2027-03-29T12:00:00Z")");
  EXPECT_NE(answer.at("/caution"), "none");
  EXPECT_EQ(answer.at("/sampling/0/feed"), "\"fine\"");
}

TEST_F(OgcGrid, KeepsThePublicSchemasOfCoverageJson) {
  put({.last_lead_h = 24});
  catch_up();
  const std::string of_run =
      fmt::format("{}/instances/fine.2027-03-29T12:00:00Z/position?coords=POINT(150+-37)&datetime=2027-03-29T13:00:00Z", kGrid);
  for (const Answer& answer : {at_point("149.5+-36.5"), at_point("149.5+-36.5", "&parameter-name=wind_speed"), get(of_run)}) {
    ASSERT_EQ(answer.status, 200) << answer.text;
    const auto outcome = checked_coverage(answer.text, folder_);
    if (!outcome) GTEST_SKIP() << "python3-jsonschema is not installed";
    EXPECT_EQ(outcome->code, 0) << outcome->out << outcome->err;
  }
}

TEST_F(OgcGrid, SaysAtAUnitWhatTheUnitIsTold) {
  put({.last_lead_h = 24});
  catch_up();
  const Answer unit =
      get("/ogc/edr/collections/unit-hours/instances/fine.2027-03-29T12:00:00Z/locations/u?parameter-name=wind_speed");
  ASSERT_EQ(unit.status, 200) << unit.text;
  const Answer point = at_point(fmt::format("{}+{}", unit.at("/domain/axes/x/values/0"), unit.at("/domain/axes/y/values/0")),
                                "&parameter-name=wind_speed");
  EXPECT_EQ(point.at("/domain/axes/t/values"), unit.at("/domain/axes/t/values"));
  EXPECT_EQ(point.at("/ranges/wind_speed/values"), unit.at("/ranges/wind_speed/values"));
}

TEST_F(OgcGrid, HasNothingOutsideItsBoundsOrBetweenItsHours) {
  put({.last_lead_h = 24});
  catch_up();
  EXPECT_EQ(at_point("10+50").status, 204);
  EXPECT_EQ(at_point("150+-37", "&datetime=2027-03-29T12:30:00Z").status, 204);
  EXPECT_EQ(times_of(at_point("150+-37", "&datetime=2027-03-29T13:00:00Z")), Strings{"2027-03-29T13:00:00Z"});
}

TEST_F(OgcGrid, EachInstanceIsARunOfItsOwn) {
  put({.last_lead_h = 24});
  catch_up();
  set_clock(25.5);
  const std::string newest = put({.name = "next.nc", .reference_h = 18, .last_lead_h = 24, .warmer = 2});
  catch_up();
  const std::string instances = std::string(kGrid) + "/instances";
  EXPECT_EQ(ids_of(get(instances).body.at("instances")), (Strings{"fine.2027-03-29T18:00:00Z", "fine.2027-03-29T12:00:00Z"}));
  EXPECT_EQ(get(instances + "/fine.2027-03-29T12:00:00Z").at("/extent/temporal/interval/0/1"), R"("2027-03-30T12:00:00Z")");
  EXPECT_EQ(get(kGrid).at("/extent/temporal/interval/0/1"), R"("2027-03-30T18:00:00Z")");
  const std::string query = "/position?coords=POINT(150+-37)&parameter-name=air_temperature&datetime=2027-03-30T00:00:00Z";
  const auto temperature = [&](const std::string& path) {
    return get(path + query).body.at_pointer("/ranges/air_temperature/values/0").to_number<double>();
  };
  const std::string before = instances + "/fine.2027-03-29T12:00:00Z";
  EXPECT_NEAR(temperature(kGrid) - temperature(before), 2, 1e-4);
  EXPECT_EQ(get(before + query).at("/freshness"), "\"stale\"") << "a newer one has taken its place";

  std::filesystem::remove(newest);
  EXPECT_NEAR(temperature(kGrid) - temperature(before), 2, 1e-4) << "what was read is kept";
  const Answer gone = at_point("150.5+-37");
  EXPECT_EQ(gone.status, 404);
  EXPECT_EQ(gone.at("/code"), "\"files_gone\"");
}

}  // namespace
}  // namespace hakea::test
