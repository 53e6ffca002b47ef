// The demo's feeds are written, read back by the reader and judged by our own models: they must give the answers that the
// story was made to give (tests/cases/demo_answers.csv).
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "core/catalogue/catalogue.h"
#include "core/weather/elevation.h"
#include "ingest/arrival/reader_process.h"
#include "service/app/demo.h"
#include "service/demo/demo_feeds.h"
#include "service/engine/run_weather.h"
#include "service/input/built_in_tables.h"
#include "service/input/json.h"
#include "service/tell/shared_smoke.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"
#include "tests/support/must.h"
#include "tests/support/program_run.h"
#include "tests/support/run_hours.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

constexpr UtcTime kFirstRun = std::chrono::sys_days(std::chrono::year(2027) / 3 / 29) + std::chrono::hours(12);

// The demo as it stands at its start: the feeds' runs as they were written, and the picture that the service makes of them.
class Demo {
 public:
  Demo()
      : feeds(folder.path() / "feeds"),
        written(must(write_demo_runs_due(feeds, UtcTime::min(), kDemoStart))),
        service(must(Service::start(demo_settings(folder.path().string(), 0)))) {
    must(service->catch_up());
    picture = service->engine().snapshot();
    std::vector<core::Site> points;
    for (const auto& [id, view] : picture->units) {
      first_point[id] = points.size();
      for (const core::UnitTraits& point : view->unit.points) points.push_back(point.site);
    }
    for (const ingest::Feed& feed : demo_feed_configs(feeds))
      runs.push_back(must(RunWeather::read(feed, {{feed.path + "/2027-03-29T12Z.nc"}}, points, {})));
  }

  const UnitView& view(const std::string& id) const {
    const UnitView* found = picture->unit(id);
    if (!found) throw std::runtime_error("the demo has no unit " + id);
    return *found;
  }
  std::size_t point_of(const std::string& id) const { return first_point.at(id); }

  TempDir folder;
  std::filesystem::path feeds;
  std::vector<std::filesystem::path> written;
  std::unique_ptr<Service> service;
  std::shared_ptr<const Snapshot> picture;
  std::map<std::string, std::size_t> first_point;
  std::vector<RunWeather> runs;
};

const Demo& demo() {
  static const Demo one;
  return one;
}

struct Answer {
  std::string unit, date, verdict, weather, rank, quantity, hours, headline;
  std::vector<std::string> lacks;
  int line = 0;
  friend std::ostream& operator<<(std::ostream& out, const Answer& a) { return out << "line " << a.line; }
};

std::vector<Answer> answers() {
  std::ifstream file(tests_folder() + "/cases/demo_answers.csv");
  std::vector<Answer> all;
  std::string line;
  bool header_seen = false;
  for (int number = 1; std::getline(file, line); ++number) {
    if (line.empty() || line[0] == '#') continue;
    if (!std::exchange(header_seen, true)) continue;
    const auto f = split_csv(line);
    if (f.size() != 9) throw std::runtime_error(fmt::format("demo_answers.csv:{}: {} columns", number, f.size()));
    const std::size_t slash = f[2].find('/');
    Answer a{
        f[0], f[1],  f[2].substr(0, slash), slash == std::string::npos ? f[2] : f[2].substr(slash + 1), f[3], f[4], f[5], f[7],
        {},   number};
    std::istringstream lacks(f[6]);
    for (std::string key; lacks >> key;) a.lacks.push_back(key);
    all.push_back(std::move(a));
  }
  return all;
}

std::string date_text(LocalDate date) {
  const std::chrono::year_month_day d(date);
  return fmt::format("{:04}-{:02}-{:02}", int(d.year()), unsigned(d.month()), unsigned(d.day()));
}

const core::Day& day_of(const std::vector<core::Day>& days, const std::string& date) {
  for (const core::Day& day : days)
    if (date_text(day.date) == date) return day;
  throw std::runtime_error("there is no day " + date);
}

std::string_view key_of(const core::Prescription& prescription, std::size_t limit) {
  return core::catalogue()[prescription.limits[limit].quantity].key;
}

int clock_hour(const Unit& unit, UtcHour hour) {
  const auto local = hour.start().time_since_epoch() + unit.traits.zone.offset_at(hour.start());
  return static_cast<int>(local / std::chrono::hours(1) % 24);
}

// Hours of the day between two clock times, the short way round midnight.
int apart(int a, int b) { return std::min((a - b + 24) % 24, (b - a + 24) % 24); }

// The limiting values of the day's hours, for a verdict that differs.
std::string hour_values(const UnitView& view, const std::string& date) {
  std::string text;
  const auto points = hours_of(view);
  const core::UnitHours& hours = points.front().front();
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = hours.first + static_cast<int>(i);
    const auto local = LocalTime(hour.start().time_since_epoch() + view.unit.traits.zone.offset_at(hour.start()));
    if (date_text(std::chrono::floor<std::chrono::days>(local)) != date) continue;
    text += fmt::format("\n  {:02}h", clock_hour(view.unit, hour));
    for (const core::Limit& limit : view.unit.prescription.limits)
      if (limit.scope == core::Scope::each_hour)
        text += fmt::format(" {} {:.4g}", core::catalogue()[limit.quantity].key, hours.columns[limit.quantity][i]);
  }
  return text;
}

void expect_as_told(const Answer& told, const UnitView& view, const core::Prescription& prescription,
                    const std::vector<core::Day>& days) {
  const core::Day& day = day_of(days, told.date);
  EXPECT_EQ(core::word(day.verdict), told.verdict) << day.why << hour_values(view, told.date);
  EXPECT_EQ(core::word(day.weather), told.weather) << day.why << hour_values(view, told.date);
  if (!told.rank.empty()) {
    EXPECT_EQ(std::to_string(day.rank), told.rank);
  }
  if (!told.quantity.empty()) {
    ASSERT_TRUE(day.limiting && day.limiting->limit != core::kNoLimit);
    EXPECT_EQ(key_of(prescription, day.limiting->limit), told.quantity);
  }
  if (told.hours.empty()) return;
  ASSERT_EQ(day.windows.size(), 1u) << hour_values(view, told.date);
  int from = 0, to = 0;
  ASSERT_EQ(std::sscanf(told.hours.c_str(), "%d-%d", &from, &to), 2);
  EXPECT_LE(apart(clock_hour(view.unit, day.windows[0].start), from), 2) << hour_values(view, told.date);
  EXPECT_LE(apart(clock_hour(view.unit, day.windows[0].end), to), 2) << hour_values(view, told.date);
}

class DemoAnswer : public ::testing::TestWithParam<Answer> {};

TEST_P(DemoAnswer, ComesOutOfTheFeeds) {
  const Answer& told = GetParam();
  const UnitView& view = demo().view(told.unit);
  if (told.lacks.empty()) return expect_as_told(told, view, view.unit.prescription, view.days);

  // What no model answers makes the day unknown, and is named.
  const core::Day& day = day_of(view.days, told.date);
  for (const std::string& key : told.lacks)
    EXPECT_TRUE(std::any_of(day.missing.begin(), day.missing.end(),
                            [&](const core::MissingInput& m) {
                              return m.quantity && core::catalogue()[*m.quantity].key == key &&
                                     (m.reason == core::Reason::no_model || m.reason == core::Reason::out_of_domain);
                            }))
        << key << " is known now: take it out of the column";
  EXPECT_NE(core::word(day.verdict), "met");
  core::Prescription without = view.unit.prescription;
  std::erase_if(without.limits, [&](const core::Limit& limit) {
    return std::find(told.lacks.begin(), told.lacks.end(), core::catalogue()[limit.quantity].key) != told.lacks.end();
  });
  expect_as_told(told, view, without, trial_days(*demo().picture, view, without));
}

INSTANTIATE_TEST_SUITE_P(Headlines, DemoAnswer, ::testing::ValuesIn(answers()), [](const auto& row) {
  std::string name = row.param.headline + "_" + row.param.unit + "_" + row.param.date.substr(5);
  std::replace(name.begin(), name.end(), '-', '_');
  return name;
});

// What a unit's fuel, place or surroundings leave without meaning, or without a model that may ship, is missing in all hours;
// nothing else is.
TEST(DemoUnits, HaveEveryQuantityThatAppliesToThem) {
  std::set<std::string> seen;
  for (const auto& [id, view] : demo().picture->units) {
    const auto points = hours_of(*view);
    const core::UnitHours& hours = points.front().front();
    for (std::size_t q = 0; q < core::catalogue().size(); ++q) {
      const core::Column& column = hours.columns[q];
      const std::string key(core::catalogue()[q].key);
      std::set<core::Reason> reasons;
      for (std::size_t i = 0; i < hours.hours; ++i) reasons.insert(column.is_missing(i) ? column.why(i) : core::Reason::none);
      if (reasons.contains(core::Reason::none)) {
        seen.insert(key);
        continue;
      }
      for (const core::Reason reason : reasons)
        EXPECT_TRUE(reason == core::Reason::not_applicable || reason == core::Reason::no_model ||
                    reason == core::Reason::no_parameter)
            << id << ": " << key << " is missing in all hours, reason " << core::word(reason);
    }
  }
  // Fuels that the district does not have, and an index that is not computed on its soil.
  seen.insert({"mallee_heath_moisture", "buttongrass_moisture", "soil_dryness_index"});
  for (const core::QuantityRow& row : core::catalogue())
    EXPECT_TRUE(seen.contains(std::string(row.key))) << row.key << " has no value in any hour of any unit";
}

TEST(DemoFeeds, AtTheStartAreTwoWholeRunsAndOneWithAGap) {
  std::vector<std::string> names;
  for (const auto& path : demo().written) names.push_back(path.lexically_relative(demo().feeds).string());
  std::sort(names.begin(), names.end());
  EXPECT_EQ(names, (std::vector<std::string>{"coarse/2027-03-29T12Z.nc", "fine/2027-03-29T12Z.nc", "fine/2027-03-29T18Z.nc"}));

  const auto steps = [](const ingest::RunPlan& plan) {
    std::vector<int> leads;
    for (const UtcTime step : plan.steps) leads.push_back(static_cast<int>((step - plan.reference_time) / std::chrono::hours(1)));
    return leads;
  };
  const auto every = [](int step, int last) {
    std::vector<int> leads;
    for (int lead = 0; lead <= last; lead += step) leads.push_back(lead);
    return leads;
  };
  EXPECT_EQ(steps(demo().runs[0].newest()), every(1, 90));
  EXPECT_EQ(steps(demo().runs[1].newest()), every(3, 240));
  const auto with_gap =
      must(RunWeather::read(demo_feed_configs(demo().feeds)[0], {{demo().feeds / "fine/2027-03-29T18Z.nc"}}, {}, {}));
  std::vector<int> expected = every(1, 90);
  std::erase_if(expected, [](int lead) { return lead >= 31 && lead <= 34; });
  EXPECT_EQ(steps(with_gap.newest()), expected);
}

TEST(DemoFeeds, HoldWhatTheyPromiseAtEveryStep) {
  const auto feeds = demo_feed_configs(demo().feeds);
  for (std::size_t f = 0; f < feeds.size(); ++f) {
    const ingest::RunPlan& plan = demo().runs[f].newest();
    EXPECT_TRUE(plan.refusals.empty());
    for (std::size_t field = 0; field < plan.fields.size(); ++field) {
      if (core::describe(plan.fields[field].fed).kind == core::TimeKind::fixed) continue;
      for (const ingest::StepTime& time : plan.field_times[field]) EXPECT_NE(time.end, UtcTime::min());
    }
    for (const ingest::FieldQuality& quality : *demo().runs[f].qualities().back().second) {
      EXPECT_EQ(quality.missing, 0u);
      EXPECT_EQ(quality.implausible, 0u);
    }
  }
}

TEST(DemoFeeds, ComeDueOneAfterTheOther) {
  const auto names = [](UtcTime after, UtcTime up_to) {
    std::string text;
    for (const DemoRun& run : demo_runs_due(after, up_to))
      text += fmt::format("{} {} ", run.feed, (run.reference_time - kFirstRun) / std::chrono::hours(1));
    return text;
  };
  EXPECT_EQ(names(UtcTime::min(), kDemoStart), "fine 0 coarse 0 fine 6 ");
  EXPECT_EQ(names(kDemoStart, kDemoStart + std::chrono::hours(24)), "fine 12 coarse 12 fine 18 fine 24 coarse 24 fine 30 ");
  EXPECT_EQ(names(kDemoStart, kDemoStart), "");
}

TEST(DemoFeeds, AreTheSameBytesWheneverTheyAreWritten) {
  const TempDir again;
  for (const auto& path : must(write_demo_runs_due(again.path(), UtcTime::min(), kDemoStart))) {
    const auto name = path.lexically_relative(again.path());
    EXPECT_TRUE(file_bytes(path) == file_bytes(demo().feeds / name)) << name;
    for (const auto& entry : std::filesystem::directory_iterator(path.parent_path()))
      EXPECT_EQ(entry.path().extension(), ".nc");  // nothing half-written is left
  }
}

TEST(DemoFeeds, ThatCannotBeWrittenSayWhere) {
  const TempDir folder;
  const auto occupied = folder.write("fine", "a file where the feed's folder should be");
  const auto written = write_demo_run(folder.path(), {"fine", kFirstRun, kFirstRun});
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().code, "unwritable");
  EXPECT_EQ(written.error().where, occupied.string());
}

TEST(DemoFeeds, OnlyTheCoarseOneBringsRainOnTheLastEvening) {
  const UtcTime evening = std::chrono::sys_days(std::chrono::year(2027) / 4 / 8);
  const DemoRun late{"fine", evening - std::chrono::hours(24), {}};
  const TempDir folder;
  const std::string path = must(write_demo_run(folder.path(), late)).string();
  const Unit& unit = demo().view("sawpit-ridge").unit;
  const auto fine = must(RunWeather::read(demo_feed_configs(folder.path())[0], {{path}}, {unit.traits.site}, {}));
  const auto rain_of = [&](const core::UnitHours& hours) {
    double sum = 0;
    for (std::size_t i = 0; i < hours.hours; ++i)
      if (hours.first + static_cast<int>(i) >= UtcHour::of(evening) && !hours["precipitation_amount"].is_missing(i))
        sum += static_cast<double>(hours["precipitation_amount"][i]);
    return sum;
  };
  EXPECT_EQ(rain_of(test::unit_hours(fine, 0, 0, unit.traits)), 0);
  EXPECT_NEAR(rain_of(test::unit_hours(demo().runs[1], demo().point_of(unit.id), 0, unit.traits)), 8, 0.1);
}

// Headline 12: a spur at 870 m, which the coarse model has at 360 m; uncorrected it would be 3.3 degC too warm and its
// mixing height 510 m too generous.
TEST(DemoFeeds, SmoothTheHillsInTheCoarseModel) {
  const std::size_t spur = demo().point_of("blue-gum-spur");
  const double fine = static_cast<double>(demo().runs[0].newest().model_elevation_m[spur]),
               coarse = static_cast<double>(demo().runs[1].newest().model_elevation_m[spur]);
  EXPECT_NEAR(fine, 620, 40);
  EXPECT_NEAR(coarse, 360, 30);
  EXPECT_NEAR((870 - coarse) * core::kLapse, 3.3, 0.3);
}

// What applies to a unit has a value in some hour, and where it has none a reason.
TEST(DemoHours, KnowTheAirAndTheSmokeOfEveryUnit) {
  for (const auto& [id, view] : demo().picture->units) {
    const auto points = hours_of(*view);
    const core::UnitHours& hours = points.front().front();
    for (const char* key :
         {"stability_class", "near_ground_gradient", "inversion_strength", "inversion_top", "inversion_break_temperature",
          "hours_since_inversion", "haines_index", "c_haines", "hot_dry_windy", "mixing_height", "transport_wind_speed",
          "ventilation_index", "smoke_bearing", "receptors_under_smoke", "smoke_concentration"}) {
      const core::Column& column = hours[key];
      std::size_t known = 0, known_by_night = 0;
      for (std::size_t i = 0; i < hours.hours; ++i) {
        known += !column.is_missing(i);
        known_by_night += !column.is_missing(i) && hours["solar_elevation"][i] < 0;
        EXPECT_EQ(column.is_missing(i), column.why(i) != core::Reason::none) << id << ' ' << key << ' ' << i;
      }
      EXPECT_GT(known, 0u) << id << ' ' << key;
      EXPECT_GT(known_by_night, 0u) << id << ' ' << key;
    }
    float most = 0, thickest = 0;
    for (std::size_t i = 0; i < hours.hours; ++i) {
      if (!hours["receptors_under_smoke"].is_missing(i)) most = std::max(most, hours["receptors_under_smoke"][i]);
      if (!hours["smoke_concentration"].is_missing(i)) thickest = std::max(thickest, hours["smoke_concentration"][i]);
    }
    EXPECT_LE(most, static_cast<float>(view->unit.receptors.size())) << id;
    RecordProperty(id, fmt::format("at most {} receptors, {:.0f} ug/m3", most, thickest));
  }
}

TEST(DemoSmoke, OfUnitsOfOneAirshedMeetsAtAReceptor) {
  std::vector<const UnitView*> all;
  for (const auto& [id, view] : demo().picture->units) all.push_back(view.get());
  std::size_t met = 0;
  for (const core::Day& day : all.front()->days) {
    for (const SharedSmoke& smoke : shared_smoke(all, day.date)) {
      ++met;
      EXPECT_GE(smoke.units.size(), 2u);
      for (const UnitView* unit : smoke.units) EXPECT_EQ(unit->unit.airshed, smoke.airshed);
      EXPECT_GT(smoke.ug_m3, 0);
      RecordProperty(smoke.airshed + date_text(day.date), fmt::format("{} {:.0f} ug/m3", smoke.receptor, smoke.ug_m3));
    }
    EXPECT_TRUE(shared_smoke({all.front()}, day.date).empty());
  }
  EXPECT_GT(met, 0u);
}

}  // namespace
}  // namespace hakea::test
