// The built program, called as a user calls it: what it prints, what it complains of, and its exit code.
#include "tests/service/program.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <filesystem>

#include "service/input/json.h"

namespace hakea::service {
namespace {

TEST_F(Program, AnUnknownOptionIsAWrongCallWithTheNearestName) {
  const Outcome o = run("assess --unit x");
  EXPECT_EQ(o.code, 2);
  EXPECT_NE(o.err.find("--units"), std::string::npos) << o.err;
  EXPECT_TRUE(o.out.empty());
}

TEST_F(Program, AnUnknownCommandIsAWrongCall) {
  const Outcome o = run("asess");
  EXPECT_EQ(o.code, 2);
  EXPECT_NE(o.err.find("assess"), std::string::npos) << o.err;
}

TEST_F(Program, UnitsAreRefusedWithEveryMistakeALine) {
  const std::string units = write(
      "units.json",
      R"({"type":"FeatureCollection","features":[{"type":"Feature","id":"A b","properties":{"time_zone":"Mars/North","status":"red"}}]})");
  const Outcome o = run(fmt::format("assess --units {} --weather {}", units, write("w.csv", weather())));
  EXPECT_EQ(o.code, 2);
  EXPECT_EQ(lines(o.err), 4U) << o.err;  // id, geometry, zone, status
  for (const char* pointer :
       {"/features/0/id", "/features/0/geometry", "/features/0/properties/time_zone", "/features/0/properties/status"})
    EXPECT_NE(o.err.find(pointer), std::string::npos) << o.err;
}

TEST_F(Program, H23AReversedRangeIsRefusedWithItsPointer) {
  const Outcome o = run(fmt::format("assess --units {} --weather {}", write("u.json", unit(humidity(R"({"min":75,"max":35})"))),
                                    write("w.csv", weather())));
  EXPECT_EQ(o.code, 2);
  EXPECT_NE(o.err.find("/properties/prescription/limits/0/acceptable/min"), std::string::npos) << o.err;
  EXPECT_NE(o.err.find("reversed"), std::string::npos) << o.err;
}

TEST_F(Program, AssessesAWeatherFileFromItsFirstRow) {
  const Outcome o = run(fmt::format("assess --units {} --weather {} --format json --hours --quantities air_temperature",
                                    write("u.json", unit(humidity(R"({"max":60})"))), write("w.csv", weather())));
  ASSERT_EQ(o.code, 0) << o.err;
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document) << o.out;
  EXPECT_EQ(document->at("now").as_string(), "2027-04-01T00:00:00Z");
  const json::value& unit = document->at("units").at(0);
  const json::value& day = unit.at("days").at(0);
  EXPECT_EQ(day.at("verdict").as_string(), "met");
  EXPECT_EQ(day.at("date").as_string(), "2027-04-01");
  EXPECT_EQ(day.at("windows").at(0).at("start").as_string(), "2027-04-01T11:00:00+11:00");
  EXPECT_EQ(day.at("windows").at(0).at("end").as_string(), "2027-04-01T17:00:00+11:00");
  const json::value& hours = unit.at("hours");
  EXPECT_EQ(hours.at("quantities").as_object().size(), 1U);
  EXPECT_EQ(hours.at("times").at(0).as_string(), "2027-04-01T00:00:00Z");
  EXPECT_EQ(hours.at("fit").at(5).as_string(), "in");
  EXPECT_EQ(hours.at("fit").at(6).as_string(), "out");
  EXPECT_NE(o.out.find("[20.1,20.1"), std::string::npos) << "numbers are the shortest that read back as float32";
}

TEST_F(Program, DaysAsCsvHaveAHeaderAndARowADay) {
  const Outcome o = run(fmt::format("assess --units {} --weather {} --format csv",
                                    write("u.json", unit(humidity(R"({"max":60})"))), write("w.csv", weather())));
  ASSERT_EQ(o.code, 0) << o.err;
  EXPECT_TRUE(o.out.starts_with("unit,date,verdict,")) << o.out;
  EXPECT_EQ(lines(o.out), 3U) << o.out;  // 1 and 2 April in Sydney
}

TEST_F(Program, TheTableCarriesItsCaution) {
  const Outcome o = run(
      fmt::format("assess --units {} --weather {}", write("u.json", unit(humidity(R"({"max":60})"))), write("w.csv", weather())));
  ASSERT_EQ(o.code, 0) << o.err;
  EXPECT_NE(o.out.find("Forecast guidance only."), std::string::npos);
}

TEST_F(Program, FeedAndWeatherTogetherAreAWrongCall) {
  EXPECT_EQ(run(fmt::format("assess --units {} --weather a.csv --feed b.nc", write("u.json", unit("")))).code, 2);
}

TEST_F(Program, QuantitiesAreOneJsonDocumentWithReasons) {
  const Outcome o = run("quantities --format json");
  ASSERT_EQ(o.code, 0) << o.err;
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document);
  EXPECT_GE(document->at("quantities").as_array().size(), 40U);
  EXPECT_EQ(document->at("reasons").at(0).as_string(), "not_in_feed");
}

TEST_F(Program, AForeignFileIsRefusedByInspect) {
  const Outcome o = run(fmt::format("inspect {} --format json", write("foreign.nc", "this is no forecast\n")));
  EXPECT_EQ(o.code, 1);
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document) << o.out;
  EXPECT_FALSE(document->at("accepted").as_bool());
  EXPECT_FALSE(document->at("refused").as_array().empty());
}

TEST_F(Program, CheckSaysWhichTablesAreInUse) {
  const Outcome o = run(fmt::format("check --config {}", write("service.toml", "")));
  EXPECT_EQ(o.code, 0) << o.err;
  EXPECT_NE(o.out.find("fuel types: built in"), std::string::npos) << o.out;
  const Outcome wrong = run(fmt::format("check --config {}", write("wrong.toml", "table = \"x\"\n")));
  EXPECT_EQ(wrong.code, 2);
  EXPECT_NE(wrong.err.find("tables"), std::string::npos) << wrong.err;
}

TEST_F(Program, ReplacedTablesNameTheFuelTypes) {
  std::filesystem::create_directory(folder_.path() / "tables");
  write("tables/fuels.toml", "[moss]\nforest = false\n");
  const Outcome o = run(fmt::format("check --config {}", write("service.toml", "tables = \"tables\"\n")));
  EXPECT_EQ(o.code, 0) << o.err;
  EXPECT_NE(o.out.find("fuels.toml, 1 of them"), std::string::npos) << o.out;
}

}  // namespace
}  // namespace hakea::service
