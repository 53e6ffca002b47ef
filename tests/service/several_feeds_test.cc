// Several feeds, ensembles, lagged runs and stations through the built program: each with its own verdict, in the order and
// within the lead hours that the configuration says.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "tests/service/program.h"
#include "tests/support/small_forecast.h"

namespace hakea::service {
namespace {

class SeveralFeeds : public Program {
 protected:
  static std::vector<double> hours(int last, int step = 1) {
    std::vector<double> all;
    for (int h = 0; h <= last; h += step) all.push_back(h);
    return all;
  }
  // `celsius` everywhere at the unit, from eleven in the morning of 30 March on.
  static test::SmallForecast warmth(double celsius, int last_hour) {
    return {.hours = hours(last_hour),
            .fields = {{"t2m", "air_temperature", "degC", {celsius}}},
            .latitudes = {-38, -36},
            .longitudes = {151, 153}};
  }
  void put(const std::string& feed, const std::string& name, const test::SmallForecast& forecast) {
    std::filesystem::create_directories(folder_.path() / feed);
    test::write_forecast((folder_.path() / feed / name).string(), forecast);
  }
  std::string feeds(const std::string& more_of_fine = "", const std::string& more_of_coarse = "") {
    return write("feeds.toml", fmt::format("[feeds.fine]\npath = \"fine\"\n{}\n[feeds.coarse]\npath = \"coarse\"\n{}\n",
                                           more_of_fine, more_of_coarse));
  }
  static std::string limit(const std::string& quantity, const std::string& acceptable) {
    return fmt::format(R"({{"quantity":"{}","scope":"each_hour","kind":"hard","acceptable":{}}})", quantity, acceptable);
  }
  const std::string warm_ = limit("air_temperature", R"({"max":21})");

  json::value assessed(const std::string& limits, const std::string& call) {
    const Outcome o = run(fmt::format("assess --units {} --format json {}", write("u.json", unit(limits)), call));
    EXPECT_EQ(o.code, 0) << o.err;
    said_ = o.err;
    auto document = parse_json(o.out, "out");
    EXPECT_TRUE(document) << o.out;
    return document ? *document : json::value();
  }
  static json::value day(const json::value& document, std::string_view date) {
    for (const json::value& day : document.at("units").at(0).at("days").as_array())
      if (day.at("date").as_string() == date) return day;
    ADD_FAILURE() << "no day " << date;
    return nullptr;
  }
  // "fine met, coarse out"
  static std::string verdicts(const json::value& day) {
    std::string text;
    for (const json::value& feed : day.at("feeds").as_array())
      text += fmt::format("{}{} {}", text.empty() ? "" : ", ", std::string(feed.at("feed").as_string()),
                          std::string(feed.at("verdict").as_string()));
    return text;
  }
  std::string said_;
};

TEST_F(SeveralFeeds, AreJudgedAloneAndInOrder) {
  put("fine", "a.nc", warmth(20, 20));
  put("coarse", "a.nc", warmth(25, 68));
  const json::value found = assessed(warm_, "--feed-config " + feeds());
  EXPECT_TRUE(said_.empty()) << said_;
  ASSERT_EQ(found.at("runs").as_array().size(), 2u);
  EXPECT_EQ(found.at("runs").at(0).at("id").as_string(), "fine.2027-03-30T00:00:00Z");
  const json::value first = day(found, "2027-03-30");
  EXPECT_EQ(first.at("verdict").as_string(), "met") << "the first feed's hours";
  EXPECT_EQ(verdicts(first), "fine met, coarse out");
  EXPECT_EQ(first.at("confidence").as_string(), "likely") << "one word less than the lead alone would say: they disagree";
  const json::value later = day(found, "2027-04-01");
  EXPECT_EQ(later.at("verdict").as_string(), "out") << "beyond the fine feed";
  EXPECT_EQ(verdicts(later), "coarse out");
  // The order is that of the configuration.
  const std::string turned = write("turned.toml", "[feeds.coarse]\npath = \"coarse\"\n[feeds.fine]\npath = \"fine\"\n");
  EXPECT_EQ(day(assessed(warm_, "--feed-config " + turned), "2027-03-30").at("verdict").as_string(), "out");
}

// JOB 7 H9: where a model has no sea by a unit on the coast, it may miss the sea breeze, and that is said.
TEST_F(SeveralFeeds, H9_ACoastalUnitSaysWhichFeedsMayMissTheSeaBreeze) {
  test::SmallForecast fine = warmth(20, 20), coarse = warmth(20, 20);
  fine.fields.push_back(
      {.name = "lsm", .standard_name = "land_area_fraction", .units = "1", .values = {1, 0, 1, 1}, .is_fixed = true});
  coarse.fields.push_back({.name = "lsm", .standard_name = "land_area_fraction", .units = "1", .values = {1}, .is_fixed = true});
  put("fine", "a.nc", fine);
  put("coarse", "a.nc", coarse);
  const auto flags_and_seas = [&](const std::string& property) {
    const std::string units =
        write("coast.json", R"({"type":"Feature","id":"a","geometry":{"type":"Point","coordinates":[152,-37]},)"
                            R"("properties":{)" +
                                property + R"("time_zone":"Australia/Sydney","prescription":{"duration_h":2,)" + R"("limits":[)" +
                                warm_ + "]}}}");
    const Outcome o =
        run(fmt::format("assess --units {} --feed-config {} --hours --quantities air_temperature --format json", units, feeds()));
    EXPECT_EQ(o.code, 0) << o.err;
    const auto document = parse_json(o.out, "out");
    if (!document) return std::string("no document");
    std::string text = json::serialize(day(*document, "2027-03-30").at("flags"));
    for (const json::value& s : document->at("units").at(0).at("hours").at("sampling").as_array())
      text += " " + json::serialize(s.at("sea"));
    return text;
  };
  EXPECT_EQ(flags_and_seas(R"("sea_bearing_deg":120,)"),
            R"(["coastal unit: sea breeze may be under-resolved by coarse"] "near" "none")");
  EXPECT_EQ(flags_and_seas(""), R"([] "near" "none")") << "an inland unit";
  put("fine", "a.nc", warmth(20, 20));
  EXPECT_EQ(flags_and_seas(R"("sea_bearing_deg":120,)"),
            R"(["coastal unit: sea breeze may be under-resolved by fine, coarse"] null "none")")
      << "without a land mask nobody knows";
}

TEST_F(SeveralFeeds, ComeFromTheFilesThatAreNamed) {
  put("fine", "a.nc", warmth(20, 20));
  put("coarse", "a.nc", warmth(25, 68));
  const std::string config = feeds(), folder = folder_.path().string();
  EXPECT_EQ(verdicts(day(assessed(warm_, fmt::format("--feed-config {0} --feed {1}/coarse {1}/fine/a.nc", config, folder)),
                         "2027-03-30")),
            "fine met, coarse out");
  EXPECT_EQ(verdicts(day(assessed(warm_, fmt::format("--feed-config {} --feed {}/fine", config, folder)), "2027-03-30")),
            "fine met");
  EXPECT_NE(said_.find("coarse: none of its files"), std::string::npos) << said_;
  const std::string elsewhere = (folder_.path() / "b.nc").string();
  std::filesystem::copy_file(folder_.path() / "fine/a.nc", elsewhere);
  const Outcome o =
      run(fmt::format("assess --units {} --feed-config {} --feed {}", (folder_.path() / "u.json").string(), config, elsewhere));
  EXPECT_EQ(o.code, 2);
  EXPECT_NE(o.err.find("belongs to none of the feeds"), std::string::npos) << o.err;
}

TEST_F(SeveralFeeds, SayNothingBeyondTheirLeadHours) {
  put("fine", "a.nc", warmth(20, 68));
  put("coarse", "a.nc", warmth(25, 68));
  const json::value whole = assessed(warm_, "--feed-config " + feeds());
  EXPECT_EQ(verdicts(day(whole, "2027-04-01")), "fine met, coarse out");
  const json::value cut = assessed(warm_, "--feed-config " + feeds("hours = \"0/20/1\""));
  EXPECT_EQ(verdicts(day(cut, "2027-04-01")), "coarse out");
  EXPECT_EQ(day(cut, "2027-04-01").at("verdict").as_string(), "out");
}

TEST_F(SeveralFeeds, SayNothingBeforeTheirFirstLeadHour) {
  put("fine", "a.nc", warmth(20, 68));
  put("coarse", "a.nc", warmth(25, 68));
  const auto assess = [&](const std::string& hours) {
    return assessed(warm_, "--feed-config " + write("f.toml", fmt::format("[feeds.coarse]\npath = \"coarse\"\n{}\n"
                                                                          "[feeds.fine]\npath = \"fine\"\n",
                                                                          hours)));
  };
  const json::value whole = assess("");
  EXPECT_EQ(day(whole, "2027-03-30").at("verdict").as_string(), "out");
  EXPECT_EQ(verdicts(day(whole, "2027-03-30")), "coarse out, fine met");
  const json::value cut = assess("hours = \"30/68/1\"");
  EXPECT_EQ(day(cut, "2027-03-30").at("verdict").as_string(), "met");
  EXPECT_EQ(verdicts(day(cut, "2027-03-30")), "fine met");
  EXPECT_EQ(day(cut, "2027-04-01").at("verdict").as_string(), "out") << "from 17:00 of 31 March on";
  EXPECT_EQ(verdicts(day(cut, "2027-04-01")), "coarse out, fine met");
}

TEST_F(SeveralFeeds, AUnitOutsideTheFirstGridIsServedByTheSecond) {
  test::SmallForecast far = warmth(20, 20);
  far.longitudes = {10, 12};
  put("fine", "a.nc", far);
  put("coarse", "a.nc", warmth(20, 20));
  const json::value found = assessed(warm_, "--feed-config " + feeds());
  EXPECT_EQ(day(found, "2027-03-30").at("verdict").as_string(), "met");
  EXPECT_EQ(verdicts(day(found, "2027-03-30")), "coarse met");
  EXPECT_TRUE(said_.empty()) << said_;
}

// Ten members of atmosphere.md 7.5 (computed there): seven keep the limits of temperature, six those of humidity, seven that
// of wind; five keep all three together, where the product of the three shares is 0.294.
TEST_F(SeveralFeeds, MembersAreCountedThatKeepAllLimitsTogether) {
  test::SmallForecast forecast = warmth(0, 12);
  forecast.fields = {
      {"t", "air_temperature", "degC", {0}}, {"rh", "relative_humidity", "%", {0}}, {"ws", "wind_speed", "km/h", {0}}};
  forecast.member_dimension = "zufall";
  forecast.member_place = 3;
  for (int m = 0; m < 10; ++m) forecast.members.push_back(m);
  forecast.by_member = {{"t", {18, 19, 20, 21, 22, 23, 24, 25, 26, 27}},
                        {"rh", {70, 64, 60, 55, 52, 48, 45, 42, 38, 35}},
                        {"ws", {6, 8, 10, 12, 9, 14, 16, 11, 18, 20}}};
  put("fine", "a.nc", forecast);
  const std::string t = limit("air_temperature", R"({"min":19,"max":25})"),
                    rh = limit("relative_humidity", R"({"min":40,"max":60})"), ws = limit("wind_speed", R"({"max":15})");
  const auto members = [&](const std::string& limits) {
    return json::serialize(
        day(assessed(limits, fmt::format("--feed {}/fine", folder_.path().string())), "2027-03-30").at("members"));
  };
  EXPECT_EQ(members(t), R"({"met":7,"of":10})");
  EXPECT_EQ(members(rh), R"({"met":6,"of":10})");
  EXPECT_EQ(members(ws), R"({"met":7,"of":10})");
  EXPECT_EQ(members(t + "," + rh + "," + ws), R"({"met":5,"of":10})");
}

TEST_F(SeveralFeeds, AnEnsembleBehindASingleForecastCountsItsMembersOnlyWhereItSpeaks) {
  put("fine", "a.nc", warmth(20, 20));
  test::SmallForecast ensemble = warmth(0, 68);
  ensemble.members = {1, 2, 3};
  ensemble.by_member["t2m"] = {19, 30, 20};
  put("coarse", "a.nc", ensemble);
  const json::value found = assessed(warm_, "--feed-config " + feeds());
  EXPECT_TRUE(day(found, "2027-03-30").at("members").is_null()) << "one forecast is not three";
  EXPECT_EQ(json::serialize(day(found, "2027-04-01").at("members")), R"({"met":2,"of":3})");
  EXPECT_EQ(verdicts(day(found, "2027-03-30")), "fine met, coarse met");
}

TEST_F(SeveralFeeds, RunsOfAFeedAreMembersTogetherWhereItSaysSo) {
  const auto issued = [&](int hour, double celsius, int last) {
    test::SmallForecast run = warmth(celsius, last);
    run.reference_h = hour;
    for (double& h : run.hours) h += hour;
    put("fine", fmt::format("{}.nc", hour + 100), run);
  };
  issued(-30, 30, 120);  // more than a day older than the newest
  issued(-12, 20, 60);   // ends with the first hours of 1 April
  issued(-6, 25, 80);
  issued(0, 20, 68);
  std::filesystem::create_directories(folder_.path() / "coarse");
  const auto with = [&](int runs) {
    return assessed(warm_, fmt::format("--feed-config {}", write("f.toml", fmt::format("[feeds.fine]\npath = \"fine\"\n"
                                                                                       "lagged_runs = {}\n",
                                                                                       runs))));
  };
  EXPECT_TRUE(day(with(1), "2027-03-31").at("members").is_null());
  EXPECT_EQ(json::serialize(day(with(2), "2027-03-31").at("members")), R"({"met":1,"of":2})");
  EXPECT_EQ(day(with(2), "2027-03-31").at("verdict").as_string(), "unknown") << "one of two is not more than half";
  const json::value three = with(4);
  EXPECT_EQ(json::serialize(day(three, "2027-03-31").at("members")), R"({"met":2,"of":3})");
  EXPECT_EQ(day(three, "2027-03-31").at("verdict").as_string(), "met");
  EXPECT_EQ(day(three, "2027-03-31").at("confidence").as_string(), "likely") << "runs that disagree lower what the lead says";
  EXPECT_EQ(verdicts(day(three, "2027-03-31")), "fine met");
  EXPECT_EQ(json::serialize(day(three, "2027-04-01").at("members")), R"({"met":1,"of":2})") << "one has ended by then";
}

// 29 km and 10 km away, and a third a kilometre away, on a mountain 820 m above the unit.
TEST_F(SeveralFeeds, WhatTheNearestSuitableStationSawComesBeforeAnyForecast) {
  put("fine", "a.nc", warmth(20, 20));
  std::filesystem::create_directories(folder_.path() / "seen");
  std::string table = "station,time_utc,latitude [deg],longitude [deg],elevation [m],air_temperature [Cel]\n";
  for (int h = 0; h < 4; ++h)
    table += fmt::format(
        "far,2027-03-30T0{0}:00:00Z,-37,152.33,20,{1}\nnear,2027-03-30T0{0}:00:00Z,-37.09,152,80,{2}\n"
        "peak,2027-03-30T0{0}:00:00Z,-37.01,152,900,{3}\n",
        h, 11 + h, 22 + h, 5);
  write("seen/march.csv", table);
  const std::string config =
      write("feeds.toml", "[feeds.fine]\npath = \"fine\"\n[feeds.seen]\npath = \"seen\"\nobserved = true\n");
  const std::string units = write("low.json", R"({"type":"Feature","id":"a","geometry":{"type":"Point","coordinates":[152,-37]},)"
                                              R"("properties":{"time_zone":"Australia/Sydney","elevation_m":80,)"
                                              R"("prescription":{"duration_h":2,"limits":[)" +
                                                  warm_ + "]}}}");
  const Outcome o =
      run(fmt::format("assess --units {} --feed-config {} --hours --quantities air_temperature --format json", units, config));
  ASSERT_EQ(o.code, 0) << o.err;
  said_ = o.err;
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document);
  const json::value& found = *document;
  EXPECT_TRUE(said_.empty()) << said_;
  const json::value& unit_hours = found.at("units").at(0).at("hours");
  const json::array& seen = unit_hours.at("quantities").at("air_temperature").at("values").as_array();
  for (std::size_t h = 0; h < 4; ++h) EXPECT_EQ(seen.at(h).to_number<double>(), 22 + static_cast<double>(h)) << h;
  for (std::size_t h = 4; h < seen.size(); ++h) EXPECT_EQ(seen.at(h).to_number<double>(), 20) << h;
  const json::value& sampling = unit_hours.at("sampling").at(1);
  EXPECT_EQ(sampling.at("feed").as_string(), "seen");
  EXPECT_NEAR(sampling.at("lat").to_number<double>(), -37.09, 1e-9);
  EXPECT_EQ(sampling.at("model_elevation_m").to_number<double>(), 80);
  EXPECT_EQ(verdicts(day(found, "2027-03-30")), "fine met") << "stations foretell nothing";
}

}  // namespace
}  // namespace hakea::service
