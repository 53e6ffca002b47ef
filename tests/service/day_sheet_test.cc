// The unit day sheet: what stands on it, that its marks agree with its numbers, and that nothing unknown is called in.
#include "service/tell/day_sheet.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <regex>

#include "core/prescription/hour_fit.h"
#include "service/base/content_hash.h"
#include "tests/support/api_rig.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

constexpr const char* kFriday = "2027-04-02";

class Sheet : public ApiTest {
 protected:
  DaySheet sheet(const std::string& unit, const std::string& date) const {
    const auto picture = rig->picture();
    const UnitView* view = picture->unit(unit);
    const core::Day* day = view ? day_on(*view, *parse_date(date)) : nullptr;
    if (!day) throw std::runtime_error("there is no day " + date + " of " + unit);
    return make_day_sheet(*picture, *view, *day, picture->now);
  }
  std::string page(const std::string& unit, const std::string& date) {
    const Answer answer = rig->get("/units/" + unit + "/sheet?date=" + date);
    EXPECT_EQ(answer.status, 200) << answer.text;
    EXPECT_EQ(answer.type, "text/html; charset=utf-8");
    return answer.text;
  }
};

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t found = 0;
  for (std::size_t at = 0; (at = text.find(part, at)) != std::string::npos; at += part.size()) ++found;
  return found;
}

std::string joined(const std::vector<std::string>& lines) {
  std::string all;
  for (const std::string& line : lines) all += line + "\n";
  return all;
}

TEST_F(Sheet, SaysWhoseDayItIsWhatItRestsOnAndWhenItIsVoid) {
  const std::string text = page("sawpit-ridge", kFriday);
  EXPECT_TRUE(has(text, "Sawpit Ridge <small>sawpit-ridge</small>"));
  EXPECT_TRUE(has(text, "<strong>Friday 2 April 2027</strong> · Tallowmere · 85 ha"));
  EXPECT_TRUE(has(text, "Printed Tue 30 Mar 06:30+11:00"));
  EXPECT_TRUE(has(text, "Void "));
  EXPECT_TRUE(has(text, "Forecast within prescription 10:00 to 17:00"));
  for (const char* caution :
       {"Forecast guidance only. The decision to light belongs to the authorised burn officer under the approved plan and local "
        "law.",
        "Demo data. Fictional district.", "Check total fire ban", "This system does not know them unless entered.",
        "Obtain an official spot forecast and measure fuel moisture on site before lighting.",
        "Calculated FFDI is not the official fire danger rating.",
        "Wind in valleys, on coasts and under canopy can differ greatly from the model.",
        "Predicted flame and spread can be exceeded.",
        "A met window does not mean the burn will hold: watch the following days."})
    EXPECT_TRUE(has(text, caution)) << caution;
}

TEST_F(Sheet, NamesTheWindowsTimesAndWhyItOpensAndCloses) {
  const DaySheet said = sheet("sawpit-ridge", kFriday);
  const auto fact = [&](const std::string& name) {
    const auto found = std::find_if(said.facts.begin(), said.facts.end(), [&](const SheetFact& one) { return one.name == name; });
    return found == said.facts.end() ? "no such fact" : found->value;
  };
  EXPECT_EQ(fact("Earliest light-up"), "10:00");
  EXPECT_EQ(fact("Latest light-up"), "12:00, leaves 5 h");
  EXPECT_EQ(fact("Must finish"), "17:00");
  EXPECT_EQ(fact("Sunset"), "18:42") << "of the demo's place on 2 April, as the days of the interface have it";
  EXPECT_EQ(fact("Burn officer"), "") << "a line to write on";
  EXPECT_TRUE(has(joined(said.why), "opens when litter moisture falls to 16 %; closes when")) << joined(said.why);
}

TEST_F(Sheet, HasALineForEveryLimitAndRoomForWhatIsMeasured) {
  const DaySheet said = sheet("lyrebird-gully", kFriday);
  EXPECT_EQ(said.limits.size(), rig->picture()->unit("lyrebird-gully")->unit.prescription.limits.size());
  EXPECT_TRUE(said.limits.front().is_measured);
  EXPECT_FALSE(said.limits.back().is_measured);
  const std::string text = page("lyrebird-gully", kFriday);
  const auto measured =
      std::count_if(said.limits.begin(), said.limits.end(), [](const SheetLimit& limit) { return limit.is_measured; });
  EXPECT_GE(measured, 8);
  EXPECT_EQ(count(text, "<td></td><td></td><td></td><td></td></tr>"), static_cast<std::size_t>(measured));
  for (const char* check : {"Fire ban status<u>", "Spot forecast no., time<u>", "Notifications done<u>", "Contingency named<u>",
                            "Comms channel<u>", "Medical<u>", "Water points<u>", "Burn officer<u>", "Crew leader<u>"})
    EXPECT_TRUE(has(text, check)) << check << " is a blank and is not filled by us";
}

TEST_F(Sheet, StopsLightingAtTheBoundsOfThePrescription) {
  const std::vector<std::string> triggers = sheet("sawpit-ridge", kFriday).triggers;
  // The limits as the demo's file has them.
  for (const char* trigger :
       {"relative humidity under 35 %, over 75 %", "wind speed at 10 m under 3 km/h, over 20 km/h",
        "wind from outside 45° to 225° for 15 minutes", "flame height over 1.5 m", "litter moisture under 9 %, over 16 %"})
    EXPECT_EQ(std::count(triggers.begin(), triggers.end(), trigger), 1) << trigger << " in\n" << joined(triggers);
  for (const std::string& trigger : triggers) {
    EXPECT_FALSE(has(trigger, "mixing")) << "nobody measures it there";
    EXPECT_FALSE(has(trigger, "forest")) << "a preference stops nothing";
  }
}

TEST_F(Sheet, ShowsNoNumberThatContradictsItsMarkAndCallsNothingUnknownIn) {
  int compared = 0, missing = 0;
  auto units = rig->picture()->units;
  // A limit on what the fuel of a unit does not have.
  auto& grass = units.find("back-paddock")->second;
  auto asked_too_much = std::make_shared<UnitView>(*grass);
  core::Limit sheltered;
  sheltered.quantity = core::quantity_index("litter_moisture_sheltered");
  sheltered.acceptable.upper = core::Bound{16};
  asked_too_much->unit.prescription.limits.push_back(sheltered);
  grass = asked_too_much;
  for (const auto& [id, view] : units)
    for (const core::Day& day : view->days) {
      const DaySheet said = make_day_sheet(*rig->picture(), *view, day, rig->picture()->now);
      for (const SheetHour& hour : said.hours) {
        ASSERT_EQ(hour.cells.size(), said.columns.size());
        bool is_any_unknown = false, is_any_out = false;
        for (std::size_t c = 0; c < hour.cells.size(); ++c) {
          const SheetCell& cell = hour.cells[c];
          if (!cell.fit) continue;
          is_any_unknown = is_any_unknown || *cell.fit == core::Fit::unknown;
          is_any_out = is_any_out || *cell.fit == core::Fit::out;
          if (cell.value == "–") {
            EXPECT_NE(*cell.fit, core::Fit::in) << id << " " << said.date << " " << hour.name << " " << said.columns[c].name;
            ++missing;
            continue;
          }
          if (*cell.fit == core::Fit::unknown || cell.value.ends_with("*")) continue;
          core::Fit fit = core::Fit::in;
          bool is_range = true;
          for (const core::Limit& limit : view->unit.prescription.limits) {
            if (limit.quantity != said.columns[c].quantity || limit.scope != core::Scope::each_hour ||
                limit.kind == core::Kind::preference)
              continue;
            is_range = is_range && limit.sectors.empty();
            fit = std::min(
                fit, core::range_fit(limit.acceptable,
                                     core::Possible::exactly(static_cast<double>(std::strtof(cell.value.c_str(), nullptr)))));
          }
          if (!is_range) continue;
          EXPECT_EQ(fit, *cell.fit) << id << " " << said.date << " " << hour.name << " " << said.columns[c].name << " "
                                    << cell.value;
          ++compared;
        }
        if (hour.all == core::Fit::in) {
          EXPECT_FALSE(is_any_unknown || is_any_out) << id << " " << said.date << " " << hour.name;
        }
      }
      for (const SheetLimit& limit : said.limits)
        if (limit.forecast == "unknown") {
          EXPECT_NE(limit.fit, core::Fit::in) << id << " " << said.date << " " << limit.name;
        }
    }
  EXPECT_GT(compared, 10'000);
  EXPECT_GT(missing, 100);
}

TEST_F(Sheet, MarksTheHoursOfTheWindow) {
  const DaySheet said = sheet("sawpit-ridge", kFriday);
  EXPECT_EQ(said.hours.front().name, "06:00");
  std::vector<std::string> window;
  for (const SheetHour& hour : said.hours)
    if (hour.is_in_window) window.push_back(hour.name);
  EXPECT_EQ(window, (std::vector<std::string>{"10:00", "11:00", "12:00", "13:00", "14:00", "15:00", "16:00"}));
  EXPECT_EQ(said.hours.back().name, "09:00 Sat");
}

TEST_F(Sheet, TellsTheTwoHoursOfOneNameApartInTheNightTheClockChanges) {
  const DaySheet said = sheet("samphire-point", "2027-04-03");
  std::vector<std::string> names;
  for (const SheetHour& hour : said.hours) names.push_back(hour.name);
  for (const char* name : {"02:00+11 Sun", "02:00+10 Sun", "03:00+10 Sun"})
    EXPECT_EQ(std::count(names.begin(), names.end(), name), 1) << name << " in\n" << joined(names);
  EXPECT_TRUE(has(said.verdict, "+11:00 Sunday")) << said.verdict;
}

TEST_F(Sheet, SaysOfADayThatIsNotMetWhatSpeaksAgainstIt) {
  EXPECT_EQ(sheet("racecourse-reserve", "2027-04-03").verdict, "Blocked");
  EXPECT_TRUE(has(joined(sheet("racecourse-reserve", "2027-04-03").why), "Blocked by event: festival at the racecourse"));
  const DaySheet out = sheet("sawpit-ridge", "2027-04-05");
  EXPECT_EQ(out.verdict, "Forecast outside prescription");
  EXPECT_EQ(out.limits_asked_of, "in the light-up hours");
  EXPECT_TRUE(std::any_of(out.limits.begin(), out.limits.end(), [](const SheetLimit& l) { return l.fit == core::Fit::out; }));
}

TEST_F(Sheet, WarnsOfTheTurnOfTheWindAndTheWorstOfTheDaysAfter) {
  // The story: a dry front on Monday at 17:00, after the hot north-westerly.
  const DaySheet monday = sheet("sawpit-ridge", "2027-04-05");
  EXPECT_TRUE(
      std::regex_search(joined(monday.wind_change), std::regex(R"(Mon 5 Apr 1[78]:00: turns by \d+° and comes from (SW|W) \()")))
      << joined(monday.wind_change);
  EXPECT_TRUE(has(joined(monday.wind_change), " edge is then downwind"));
  const std::string after = joined(sheet("sawpit-ridge", kFriday).after);
  EXPECT_TRUE(std::regex_search(after, std::regex(R"(Worst of the next seven days: calculated FFDI 4\d[.0-9]* on Mon 5 Apr)")))
      << after;
  EXPECT_TRUE(has(after, "Night Fri 2 Apr")) << after;
}

TEST_F(Sheet, LoadsNothingRunsNothingAndIsShownUnderAPolicyThatAllowsItsOwnStyleOnly) {
  const Answer answer = rig->get(std::string("/units/sawpit-ridge/sheet?date=") + kFriday);
  for (const char* outside : {"<script", "<img", "<link", "href=", "src=", "url(", "@import", " style="})
    EXPECT_FALSE(has(answer.text, outside)) << outside;
  const std::size_t begin = answer.text.find("<style>") + 7;
  const std::string style = answer.text.substr(begin, answer.text.find("</style>") - begin);
  EXPECT_EQ(answer.header("Content-Security-Policy"), "default-src 'none'; style-src 'sha256-" + content_hash_base64(style) +
                                                          "'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'");
  EXPECT_TRUE(has(style, "@page{size:A4"));
  // SHA-256 of "abc", FIPS 180-4's example, in base64.
  EXPECT_EQ(content_hash_base64("abc"), "ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
}

TEST_F(Sheet, ShowsWhatPeopleWroteAsTheyWroteIt) {
  const Answer unit = rig->call("PATCH", "/units/sawpit-ridge", R"({"properties":{"name":"<b>\"Ridge\" & 'Spur'"}})",
                                {{"content-type", "application/merge-patch+json"}});
  ASSERT_EQ(unit.status, 200) << unit.text;
  const std::string text = page("sawpit-ridge", kFriday);
  EXPECT_TRUE(has(text, "<h1>&lt;b&gt;&quot;Ridge&quot; &amp; &#39;Spur&#39; <small>")) << text.substr(0, 4000);
  EXPECT_FALSE(has(text, "<b>\"Ridge"));
}

TEST_F(Sheet, IsRefusedForADateWithoutForecast) {
  const Answer none = rig->get("/units/sawpit-ridge/sheet?date=2027-06-01");
  EXPECT_EQ(none.status, 404);
  EXPECT_TRUE(has(none.text, "it has 2027-03-30 to 2027-04-")) << none.text;
  EXPECT_EQ(rig->get("/units/sawpit-ridge/sheet?date=Friday").status, 400);
  EXPECT_EQ(rig->get("/units/nowhere/sheet").status, 404);
  EXPECT_TRUE(has(rig->get("/units/sawpit-ridge/sheet").text, "<strong>Tuesday 30 March 2027</strong>")) << "today's";
  EXPECT_EQ(rig->call("GET", "/units/sawpit-ridge/sheet", "", {{"accept", "application/json"}}).status, 406);
}

}  // namespace
}  // namespace hakea::test
