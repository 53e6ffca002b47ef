// The demo district and the cases that pin the meanings of INTERFACE §3: every unit's days against the expected ones.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "core/catalogue/catalogue.h"
#include "service/engine/assessment.h"
#include "tests/support/case_file.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

struct Story {
  std::string units, weather, district, expected, now;
};

const std::map<std::string, Story>& stories() {
  static const std::map<std::string, Story> all{
      {"demo", {"units.geojson", "hourly.csv", "district.json", "expected.json", "2027-03-30T06:30:00+11:00"}},
      {"nasty_a", {"nasty_a.geojson", "nasty_a.csv", "nasty_a_district.json", "nasty_a_expected.json", "2027-03-26T12:30:00Z"}}};
  return all;
}

std::string file_of(const std::string& name) {
  const auto text = read_text_file(shared_folder() + "/demo/" + name);
  return text ? *text : std::string();
}

// unit -> date -> expectation
json::object expectations(const std::string& story) {
  const json::value document = must(parse_json(file_of(stories().at(story).expected), story));
  json::object by_unit;
  const json::object& units = document.as_object().contains("units") ? document.at("units").as_object() : document.as_object();
  for (const auto& unit : units)
    by_unit.emplace(unit.key(), unit.value().as_object().contains("days") ? unit.value().at("days") : unit.value());
  return by_unit;
}

struct Answers {
  std::vector<Unit> units;
  std::vector<Outlook> outlooks;
};

Answers answers(const std::string& name) {
  const Story& story = stories().at(name);
  Answers found;
  found.units = must(parse_units(file_of(story.units), built_in_fuels()));
  const District district = must(parse_district(file_of(story.district)));
  const auto unit_of = [](std::string_view key) {
    const auto q = core::find_quantity(key);
    return q ? std::string(core::catalogue()[*q].unit) : std::string();
  };
  std::vector<ingest::WeatherTable> tables{must(ingest::read_weather_csv(file_of(story.weather), story.weather, unit_of))};
  const UtcTime now = must(parse_instant(story.now));
  found.outlooks = assess(found.units, district, weather_of_tables(tables),
                          {.now = now, .reference_time = now, .keep_hours = false, .zone_of = zones_of(found.units)});
  return found;
}

const Answers& answers_of(const std::string& story) {
  static std::map<std::string, Answers> known;
  const auto found = known.find(story);
  return found != known.end() ? found->second : known.emplace(story, answers(story)).first->second;
}

std::string_view key_of(const core::Prescription& prescription, std::size_t limit) {
  return core::catalogue()[prescription.limits[limit].quantity].key;
}

std::string date_text(LocalDate date) {
  const std::chrono::year_month_day d(date);
  return fmt::format("{:04}-{:02}-{:02}", int(d.year()), unsigned(d.month()), unsigned(d.day()));
}

std::string time_text(UtcTime t) {
  const auto day = std::chrono::floor<std::chrono::days>(t);
  return fmt::format("{}T{:02}:{:02}Z", date_text(LocalDate(day.time_since_epoch())), (t - day).count() / 3600,
                     (t - day).count() / 60 % 60);
}

std::string text_of(const json::value& v) { return v.is_null() ? "-" : std::string(v.as_string()); }

// Lines of differences between one expected day and ours.
class Difference {
 public:
  Difference(const Unit& unit, const core::Day& day, const json::object& expected)
      : unit_(unit), day_(day), expected_(expected) {}

  std::string lines() {
    same("verdict", text_of(expected_.at("verdict")), core::word(day_.verdict));
    same("weather", text_of(expected_.at("weather")), core::word(day_.weather));
    compare_fit();
    compare_windows();
    compare_limiting();
    same("tail", text_of(expected_.at("tail")),
         day_.tail.verdict == core::TailVerdict::none ? "-" : core::word(day_.tail.verdict));
    compare_lists();
    same("draft", expected_.at("draft").as_bool() ? "true" : "false", day_.draft ? "true" : "false");
    return lines_;
  }

 private:
  void same(std::string_view what, std::string_view expected, std::string_view found) {
    if (expected != found) lines_ += fmt::format("  {} {}: {} expected, found {}\n", date_text(day_.date), what, expected, found);
  }

  void compare_fit() {
    const json::value& fit = expected_.at("fit");
    const std::string expected = fit.is_null() ? "none" : fmt::format("{:.2f}", fit.to_number<double>());
    const std::string found = day_.fit ? fmt::format("{:.2f}", *day_.fit) : "none";
    const bool is_near = !fit.is_null() && day_.fit && std::abs(*day_.fit - fit.to_number<double>()) <= 0.02 + 1e-9;
    if (!is_near) same("fit", expected, found);
  }

  void compare_windows() {
    const json::array& expected = expected_.at("windows").as_array();
    std::string expected_text, found_text;
    for (const json::value& w : expected)
      expected_text +=
          fmt::format(" [{} {} {}h{}{}]", time_text(must(parse_instant(w.at("start").as_string()))),
                      time_text(must(parse_instant(w.at("end").as_string()))), w.at("hours").as_int64(),
                      w.at("unconfirmed").as_bool() ? " unconfirmed" : "", w.at("open_ended").as_bool() ? " open-ended" : "");
    for (const core::Window& w : day_.windows)
      found_text += fmt::format(" [{} {} {}h{}{}]", time_text(w.start.start()), time_text(w.end.start()), w.hours(),
                                w.unconfirmed ? " unconfirmed" : "", w.open_ended ? " open-ended" : "");
    same("windows", expected_text, found_text);
    if (expected_text != found_text) return;
    for (std::size_t i = 0; i < day_.windows.size(); ++i) {
      compare_edge(fmt::format("window {} opens", i), expected[i].at("opens").as_object(), day_.windows[i].opens);
      compare_edge(fmt::format("window {} closes", i), expected[i].at("closes").as_object(), day_.windows[i].closes);
    }
  }

  void compare_edge(const std::string& what, const json::object& expected, const core::WindowEdge& edge) {
    same(what, text_of(expected.at("by")), core::word(edge.by));
    if (!expected.contains("any") || edge.by != core::Edge::limit) return;
    const json::array& any = expected.at("any").as_array();
    const std::string found(edge.limit == core::kNoLimit ? "-" : key_of(unit_.prescription, edge.limit));
    if (std::none_of(any.begin(), any.end(), [&](const json::value& key) { return text_of(key) == found; }))
      same(what, "one of " + json::serialize(any), found);
  }

  void compare_limiting() {
    const json::value& limiting = expected_.at("limiting");
    const std::string expected =
        limiting.is_null() ? "-" : text_of(limiting.at("quantity")) + " " + text_of(limiting.at("scope"));
    std::string found = "-";
    if (day_.limiting && day_.limiting->limit != core::kNoLimit)
      found = fmt::format("{} {}", key_of(unit_.prescription, day_.limiting->limit),
                          core::word(unit_.prescription.limits[day_.limiting->limit].scope));
    same("limiting", expected, found);
  }

  void compare_lists() {
    std::vector<std::string> expected, found;
    for (const json::value& kind : expected_.at("blocked_by").as_array()) expected.push_back(text_of(kind));
    for (const core::Blocked& b : day_.blocked_by) found.push_back(b.kind);
    same_list("blocked_by", expected, found);
    expected.clear();
    found.clear();
    for (const json::value& note : expected_.at("notes").as_array())
      expected.push_back(text_of(note.at(0)) + " " + text_of(note.at(1)));
    for (const core::Note& n : day_.notes)
      found.push_back(
          fmt::format("{} {}", key_of(unit_.prescription, n.limit), core::word(unit_.prescription.limits[n.limit].scope)));
    same_list("notes", expected, found);
    if (!expected_.contains("reason")) return;
    const bool has_reason = std::any_of(day_.missing.begin(), day_.missing.end(), [&](const core::MissingInput& m) {
      return core::word(m.reason) == text_of(expected_.at("reason"));
    });
    same("reason", text_of(expected_.at("reason")), has_reason ? text_of(expected_.at("reason")) : "-");
  }

  void same_list(std::string_view what, std::vector<std::string> expected, std::vector<std::string> found) {
    std::sort(expected.begin(), expected.end());
    std::sort(found.begin(), found.end());
    same(what, fmt::format("[{}]", fmt::join(expected, ", ")), fmt::format("[{}]", fmt::join(found, ", ")));
  }

  const Unit& unit_;
  const core::Day& day_;
  const json::object& expected_;
  std::string lines_;
};

// Dates in the order of rank; only those that are expected, since ours may have others between.
std::string order(std::vector<std::pair<std::int64_t, std::string>> ranked) {
  std::sort(ranked.begin(), ranked.end());
  std::string text;
  for (const auto& [rank, date] : ranked) text += " " + date.substr(5);
  return text;
}

struct CaseUnit {
  std::string story, unit;
};
void PrintTo(const CaseUnit& c, std::ostream* out) { *out << c.story << ' ' << c.unit; }

class DemoCase : public ::testing::TestWithParam<CaseUnit> {};

TEST_P(DemoCase, HasTheExpectedDays) {
  if (shared_folder().empty()) GTEST_SKIP() << "the demo's files are not beside this checkout";
  const auto& [story, id] = GetParam();
  const auto& outlooks = answers_of(story).outlooks;
  const auto outlook = std::find_if(outlooks.begin(), outlooks.end(), [&](const Outlook& o) { return o.unit->id == id; });
  ASSERT_NE(outlook, outlooks.end()) << id << " has no answer";
  const json::object by_unit = expectations(story);
  const json::object& dates = by_unit.at(id).as_object();

  std::string differences;
  std::vector<std::pair<std::int64_t, std::string>> expected_order, found_order;
  for (const auto& entry : dates) {
    const std::string date(entry.key());
    const json::object& expected = entry.value().as_object();
    const auto day =
        std::find_if(outlook->days.begin(), outlook->days.end(), [&](const core::Day& d) { return date_text(d.date) == date; });
    if (day == outlook->days.end()) {
      differences += "  " + date + " is not among the days\n";
      continue;
    }
    differences += Difference(*outlook->unit, *day, expected).lines();
    expected_order.emplace_back(expected.at("rank").as_int64(), date);
    found_order.emplace_back(day->rank, date);
  }
  if (order(expected_order) != order(found_order))
    differences += fmt::format("  rank order:{} expected, found{}\n", order(expected_order), order(found_order));
  EXPECT_TRUE(differences.empty()) << id << "\n" << differences;
}

std::vector<CaseUnit> all_units() {
  std::vector<CaseUnit> all;
  if (shared_folder().empty()) return {{"demo", "absent"}};
  for (const auto& [name, story] : stories())
    for (const auto& unit : expectations(name)) all.push_back({name, std::string(unit.key())});
  return all;
}

INSTANTIATE_TEST_SUITE_P(Units, DemoCase, ::testing::ValuesIn(all_units()), [](const auto& unit) {
  std::string name = unit.param.story + "_" + unit.param.unit;
  std::replace(name.begin(), name.end(), '-', '_');
  return name;
});

}  // namespace
}  // namespace hakea::test
