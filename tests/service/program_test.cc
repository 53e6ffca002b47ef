// The built program, called as a user calls it: what it prints, what it complains of, and its exit code.
#include "tests/service/program.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <set>
#include <sstream>

#include "core/catalogue/catalogue.h"
#include "core/fire/spread_models.h"
#include "service/input/json.h"
#include "service/output/paragraph.h"
#include "tests/support/case_file.h"

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

TEST_F(Program, QuantitiesReadWellInAHundredColumns) {
  const Outcome o = run("quantities");
  ASSERT_EQ(o.code, 0) << o.err;
  std::istringstream page(o.out);
  for (std::string line; std::getline(page, line);) {
    EXPECT_LE(letters(line), kPageWidth) << line;
    EXPECT_FALSE(line.ends_with(' ')) << line;
  }
  for (const core::QuantityRow& row : core::catalogue())
    EXPECT_NE(o.out.find("\n" + std::string(row.key) + ": "), std::string::npos) << row.key;
  for (const core::SpreadModelRow& row : core::spread_models())
    EXPECT_NE(o.out.find("\n" + std::string(row.key) + ": "), std::string::npos) << row.key;
}

TEST_F(Program, QuantitiesSayWhichModelsAFuelUses) {
  const auto document = parse_json(run("quantities --format json").out, "out");
  ASSERT_TRUE(document);
  std::set<std::string, std::less<>> moist;
  for (const json::value& model : document->at("moisture_models").as_array())
    for (const json::value& fuel : model.at("fuels").as_array()) moist.emplace(fuel.as_string());
  EXPECT_TRUE(moist.contains("dry-eucalypt-forest"));
  bool is_found = false;
  for (const json::value& model : document->at("spread_models").as_array())
    for (const json::value& fuel : model.at("fuels").as_array()) is_found = is_found || fuel == "dry-eucalypt-forest";
  EXPECT_TRUE(is_found);
}

// FFDI far beyond the box of its inputs: would pass, and does not.
TEST_F(Program, AValueOutsideItsDomainIsMarkedWhereverItShows) {
  std::string weather = "time_utc,air_temperature [Cel],relative_humidity [%],wind_speed [km/h],drought_factor [1]\n";
  for (int h = 0; h < 24; ++h) weather += fmt::format("2027-04-01T{:02}:00:00Z,{},30,20,9\n", h, h < 6 ? 52 : 30);
  const std::string files =
      fmt::format("--units {} --weather {}",
                  write("u.json", unit(R"({"quantity":"ffdi","scope":"each_hour","kind":"hard","acceptable":{"max":400}})")),
                  write("w.csv", weather));
  const auto document = parse_json(run("assess --format json --hours --quantities ffdi " + files).out, "out");
  ASSERT_TRUE(document);
  const json::value& outlook = document->at("units").at(0);
  const json::value& day = outlook.at("days").at(0);
  EXPECT_EQ(outlook.at("hours").at("quantities").at("ffdi").at("flags").at("out_of_domain"), *parse_json("[[0,6]]", "x"));
  EXPECT_EQ(day.at("missing").at(0), *parse_json(R"({"quantity":"ffdi","hours":6,"reason":"out_of_domain"})", "x"));
  EXPECT_NE(std::string(day.at("why").as_string()).find("is outside its model's domain"), std::string::npos) << day.at("why");
  EXPECT_EQ(outlook.at("hours").at("fit").at(0), "unknown");
  EXPECT_EQ(outlook.at("hours").at("fit").at(6), "in");

  const std::string days = run("assess --format csv " + files).out;
  EXPECT_NE(days.find("ffdi:out_of_domain"), std::string::npos) << days;
  const std::string hours = run("assess --format csv --hours --quantities ffdi,wind_speed " + files).out;
  EXPECT_TRUE(hours.starts_with("unit,time_utc,fit,ffdi [1],wind_speed [km/h],out_of_domain,provisional\r\n")) << hours;
  EXPECT_NE(hours.find(",20,ffdi,\r\n"), std::string::npos) << hours;
  const std::string table = run("assess --hours " + files).out;
  EXPECT_NE(table.find("* outside the published domain of its model"), std::string::npos) << table;
  EXPECT_NE(table.find("missing: ffdi 6 h (out_of_domain)"), std::string::npos) << table;
}

TEST_F(Program, WhatRestsOnAProvisionalModelSaysSoWhereverItShows) {
  std::string weather = "time_utc,air_temperature [Cel],relative_humidity [%],wind_speed [km/h],precipitation_amount [mm]\n";
  for (int h = 0; h < 96; ++h) weather += fmt::format("2027-04-{:02}T{:02}:00:00Z,20,{},10,0\n", 1 + h / 24, h % 24, 30 + h % 24);
  const std::string files = fmt::format(
      "--units {} --weather {}",
      write(
          "u.json",
          R"({"type":"Feature","id":"a","geometry":{"type":"Point","coordinates":[152,-37]},"properties":{"time_zone":"Etc/UTC","fuel":{"type":"grassland"},"prescription":{"duration_h":2,"limits":[{"quantity":"grass_moisture","scope":"each_hour","kind":"hard","acceptable":{"max":10}}]}}})"),
      write("w.csv", weather));
  const auto document = parse_json(run("assess --format json --hours --quantities grass_moisture,ffdi " + files).out, "out");
  ASSERT_TRUE(document);
  const json::value& outlook = document->at("units").at(0);
  EXPECT_TRUE(outlook.at("hours").at("quantities").at("grass_moisture").at("flags").at("provisional").as_bool());
  EXPECT_FALSE(outlook.at("hours").at("quantities").at("ffdi").at("flags").at("provisional").as_bool());
  EXPECT_EQ(outlook.at("days").at(0).at("provisional"), *parse_json(R"(["grass_moisture"])", "x"));
  EXPECT_NE(std::string(outlook.at("days").at(0).at("why").as_string()).find("grass moisture (provisional model)"),
            std::string::npos)
      << outlook.at("days").at(0);
  const std::string days = run("assess --format csv " + files).out;
  EXPECT_NE(days.find(",missing,provisional,why\r\n"), std::string::npos) << days;
  EXPECT_NE(days.find(",grass_moisture,"), std::string::npos) << days;
  const std::string table = run("assess --hours " + files).out;
  EXPECT_NE(table.find("grass_moisture rests on a provisional model"), std::string::npos) << table;
  EXPECT_NE(table.find("limiting: grass_moisture (provisional model)"), std::string::npos) << table;
}

TEST_F(Program, AnUnknownQuantityIsAWrongCallWithTheNearestKey) {
  const Outcome o = run(fmt::format("assess --units {} --weather {} --hours --quantities air_temperature,litter_moistur",
                                    write("u.json", unit(humidity(R"({"max":60})"))), write("w.csv", weather())));
  EXPECT_EQ(o.code, 2);
  EXPECT_NE(o.err.find("did you mean litter_moisture?"), std::string::npos) << o.err;
}

// Whatever can be computed from the table is, whether a limit asks for it or not, and printed so that it reads back.
TEST_F(Program, TheSameNumbersInEveryFormatToTheLastFigure) {
  const std::string files = fmt::format("--units {} --weather {} --hours --quantities vapour_pressure_deficit,solar_elevation",
                                        write("u.json", unit(humidity(R"({"max":60})"))), write("w.csv", weather()));
  const auto document = parse_json(run("assess --format json " + files).out, "out");
  ASSERT_TRUE(document);
  const json::value& quantities = document->at("units").at(0).at("hours").at("quantities");
  const std::string csv = run("assess --format csv " + files).out, table = run("assess " + files).out;
  std::istringstream lines(csv);
  std::string line;
  std::getline(lines, line);
  for (std::size_t i = 0; std::getline(lines, line); ++i) {
    const auto cells = test::split_csv(line);
    const auto vpd = static_cast<float>(quantities.at("vapour_pressure_deficit").at("values").at(i).to_number<double>());
    EXPECT_EQ(std::stof(cells.at(3)), vpd);
    EXPECT_EQ(std::stof(cells.at(4)),
              static_cast<float>(quantities.at("solar_elevation").at("values").at(i).to_number<double>()));
    EXPECT_NE(table.find(" " + cells.at(3)), std::string::npos) << cells.at(3);
    EXPECT_NE(table.find(" " + cells.at(4)), std::string::npos) << cells.at(4);
  }
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

// Written by tests/independent/make_grib_steps.sh: 283.15 K and 285.15 K, rain of 1.5 and 4 mm since the start.
TEST_F(Program, GribStepsComeTogetherInOneFileOrInSeveral) {
  const std::string one = write(
      "u.json",
      R"({"type":"Feature","id":"a","geometry":{"type":"Point","coordinates":[10,50]},"properties":{"time_zone":"Etc/UTC"}})");
  const std::string data = test::tests_folder() + "/data/grib/";
  for (const std::string& feeds :
       {"--feed '" + data + "steps_together.grib2'", "--feed '" + data + "step_1.grib2' --feed '" + data + "step_2.grib2'"}) {
    const Outcome hours =
        run("assess --units " + one + " --hours --quantities air_temperature,precipitation_amount --format json " + feeds);
    ASSERT_EQ(hours.code, 0) << hours.err;
    const auto document = parse_json(hours.out, "out");
    ASSERT_TRUE(document) << hours.out;
    const json::value& shown = document->at("units").at(0).at("hours");
    EXPECT_EQ(shown.at("times").at(0), "2027-03-29T12:00:00Z");
    const json::value& rain = shown.at("quantities").at("precipitation_amount").at("values");
    EXPECT_NEAR(rain.at(0).to_number<double>(), 1.5, 1e-5) << "not the rate of an instant";
    EXPECT_NEAR(rain.at(1).to_number<double>(), 2.5, 1e-5);
    const json::value& air = shown.at("quantities").at("air_temperature").at("values");
    EXPECT_TRUE(air.at(0).is_null());
    EXPECT_NEAR(air.at(1).to_number<double>(), 10, 1e-4) << "not the spread of members";
    EXPECT_NEAR(air.at(2).to_number<double>(), 12, 1e-4);
  }
}

}  // namespace
}  // namespace hakea::service
