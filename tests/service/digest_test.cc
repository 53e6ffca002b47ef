// The morning digest, from the demo district's units and weather: headings, what is said, what is never said.
#include "service/tell/digest.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <regex>
#include <sstream>

#include "core/days/feeds.h"
#include "service/engine/assessment.h"
#include "service/input/zones.h"
#include "service/tell/burn_ahead.h"
#include "service/tell/look_ahead.h"
#include "tests/support/case_file.h"
#include "tests/support/must.h"

namespace hakea::service {
namespace {

using test::must;

using std::chrono::days;
using std::chrono::hours;

const std::vector<std::string> kHeadings{"Stops today",  "Open burns",      "Planned today and tomorrow",
                                         "What changed", "Best candidates", "Near misses",
                                         "Days 5–10",    "Season"};

// The picture of the demo district at a time, from its weather table.
class DemoMorning {
 public:
  explicit DemoMorning(const std::string& now) {
    const std::string folder = test::shared_folder() + "/demo/";
    district_text_ = must(read_text_file(folder + "district.json"));
    units_ = must(parse_units(must(read_text_file(folder + "units.geojson")), built_in_fuels()));
    const auto unit_of = [](std::string_view key) {
      const auto q = core::find_quantity(key);
      return q ? std::string(core::catalogue()[*q].unit) : std::string();
    };
    tables_.push_back(must(ingest::read_weather_csv(must(read_text_file(folder + "hourly.csv")), "hourly.csv", unit_of)));
    snapshot_.now = must(parse_instant(now));
    snapshot_.zones.emplace("Australia/Sydney", must(time_zone("Australia/Sydney")));
    DistrictView view;
    view.district = must(parse_district(district_text_));
    view.zone = &snapshot_.zones.at("Australia/Sydney");
    view.caution = {"Demo data. Fictional district."};
    snapshot_.districts.emplace("tallowmere", std::move(view));
    FeedView fine;
    fine.id = "fine";
    fine.freshness = Freshness::current;
    fine.newest_complete = RunNote{.id = "fine.2027-03-29T12:00:00Z",
                                   .feed = "fine",
                                   .reference_time = must(parse_instant("2027-03-29T12:00:00Z")),
                                   .received_at = {},
                                   .computed_at = {},
                                   .next_expected = {}};
    snapshot_.feeds.push_back(std::move(fine));
    judge();
  }

  District& district() { return snapshot_.districts.at("tallowmere").district; }
  Snapshot& snapshot() { return snapshot_; }
  std::vector<Unit>& units() { return units_; }
  FeedView& feed() { return snapshot_.feeds.front(); }

  void judge() {
    const auto outlooks =
        assess(units_, district(), weather_of_tables(tables_),
               {.now = snapshot_.now, .reference_time = snapshot_.now, .keep_hours = false, .zone_of = zones_of(units_)});
    snapshot_.units.clear();
    for (std::size_t i = 0; i < units_.size(); ++i) {
      auto view = std::make_shared<UnitView>();
      view->unit = units_[i];
      const auto alone =
          core::judged_alone("fine", "fine.2027-03-29T12:00:00Z", UtcHour{-1'000'000}, UtcHour{1'000'000}, outlooks[i].days);
      view->days = core::join_feeds(outlooks[i].days, {alone});
      view->freshness = Freshness::current;
      snapshot_.units[units_[i].id] = std::move(view);
    }
  }

  Digest digest(const SaidBefore* before = nullptr, const Result<SharedProposal>* plan = nullptr) const {
    const DistrictView& view = snapshot_.districts.at("tallowmere");
    return make_digest(snapshot_, view, view.zone->date(snapshot_.now), before, plan);
  }
  SaidBefore said() const { return said_now(snapshot_, snapshot_.districts.at("tallowmere")); }
  std::vector<std::vector<core::UnitHours>> hours_of_unit(std::string_view id) const {
    for (const Unit& unit : units_)
      if (unit.id == id) {
        auto points = std::get<1>(weather_of_tables(tables_)(unit));
        for (auto& members : points)
          for (auto& h : members) core::compute_all(h);
        return points;
      }
    return {};
  }

 private:
  std::string district_text_;
  std::vector<Unit> units_;
  std::vector<ingest::WeatherTable> tables_;
  Snapshot snapshot_;
};

class DemoDigest : public ::testing::Test {
 protected:
  void SetUp() override {
    if (test::shared_folder().empty()) GTEST_SKIP() << "the demo's files are not beside this checkout";
  }
};

std::vector<std::string> lines_of(const Digest& digest, const std::string& heading) {
  std::vector<std::string> lines;
  for (const DigestSection& section : digest.sections)
    if (section.heading == heading)
      for (const DigestLine& line : section.lines) lines.push_back(line.text);
  return lines;
}

std::string section(const Digest& digest, const std::string& heading) {
  std::string text;
  for (const std::string& line : lines_of(digest, heading)) text += line + "\n";
  return text;
}

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

// What we say ourselves: without the cautions, whose words are fixed.
std::string own_words(const Digest& digest) {
  std::string text;
  for (const std::string& line : digest.head) text += line + "\n";
  for (const DigestSection& s : digest.sections)
    for (const DigestLine& line : s.lines)
      if (!line.text.starts_with("Check total fire ban")) text += line.text + "\n";
  return text;
}

void expect_headings(const std::string& text) {
  std::istringstream lines(text);
  std::vector<std::string> found;
  for (std::string line; std::getline(lines, line);)
    if (std::find(kHeadings.begin(), kHeadings.end(), line) != kHeadings.end()) found.push_back(line);
  EXPECT_EQ(found, kHeadings) << text;
}

void expect_no_word_to_avoid(const std::string& text) {
  const std::regex avoided(
      R"(\b(GO|AI)\b|\b([Ss]afe|[Aa]pproved|[Aa]uthori[sz]ed|[Gg]uaranteed|[Ww]arning)\b|clear to burn|optimal|probability of success|fire danger rating|smoke forecast|\btoday\b|\btomorrow\b|\bthe wind\b|near_miss)");
  std::smatch found;
  EXPECT_FALSE(std::regex_search(text, found, avoided)) << found.str() << " in\n" << text;
}

TEST_F(DemoDigest, HasItsHeadingsInOrderEachOnALineOfItsOwn) {
  const Digest digest = DemoMorning("2027-03-30T06:30:00+11:00").digest();
  const std::string text = digest_text(digest);
  expect_headings(text);
  EXPECT_TRUE(text.starts_with("Tallowmere, Tuesday 30 March 2027, 06:30 (+11:00)\n")) << text;
  EXPECT_TRUE(has(text, "Forecast made Monday 29 March 23:00 (fine), 8 hours old; inputs missing: none known."));
  EXPECT_TRUE(has(text,
                  "\nForecast guidance only. The decision to light belongs to the authorised burn officer under the approved "
                  "plan and local law.\n"));
  EXPECT_TRUE(has(text, "\nDemo data. Fictional district.\n"));
  for (const DigestSection& s : digest.sections) EXPECT_FALSE(s.lines.empty()) << s.heading;
}

TEST_F(DemoDigest, SaysThatNoStopIsEnteredAndWhomToAsk) {
  const std::string stops = section(DemoMorning("2027-03-30T06:30:00+11:00").digest(), "Stops today");
  EXPECT_TRUE(has(stops, "None entered here; check the declaring authority for total fire ban, restricted/prohibited periods"));
  EXPECT_TRUE(has(stops, "This system does not know them unless entered."));
  EXPECT_TRUE(has(stops, "Vineyard Edge is closed by its prescription until Wednesday 31 March")) << stops;
}

TEST_F(DemoDigest, ShowsTheEventOfItsDateAndBeforehand) {
  const std::string before = section(DemoMorning("2027-03-31T06:30:00+11:00").digest(), "Stops today");
  EXPECT_TRUE(has(before, "Event for Racecourse Reserve on Saturday 3 April: festival at the racecourse.")) << before;
  EXPECT_TRUE(has(before, "None entered here"));
  const std::string on_it = section(DemoMorning("2027-04-03T06:30:00+11:00").digest(), "Stops today");
  EXPECT_TRUE(has(on_it, "Event for Racecourse Reserve on Saturday 3 April")) << on_it;
  EXPECT_FALSE(has(on_it, "None entered here"));
}

TEST_F(DemoDigest, ADeclaredBanComesFirstAndTakesTheWindowsOfItsDay) {
  DemoMorning morning("2027-03-31T06:30:00+11:00");
  const SaidBefore before = morning.said();
  const LocalDate thursday = *parse_date("2027-04-01");
  morning.district().stops.push_back({.covers = StopEntry::Covers::district,
                                      .whom = "tallowmere",
                                      .from = thursday - days(1),
                                      .to = thursday,
                                      .kind = "declared_ban",
                                      .why = "total fire ban"});
  morning.judge();
  const Digest digest = morning.digest(&before);
  EXPECT_EQ(lines_of(digest, "Stops today").front(),
            "Declared ban for the whole district until Thursday 1 April: total fire ban.");
  const std::string changed = section(digest, "What changed");
  EXPECT_TRUE(has(changed, "Lost: Back Paddock, Thursday 1 April, now blocked; total fire ban.")) << changed;
  EXPECT_FALSE(has(section(digest, "Best candidates"), "Thursday"));
}

TEST_F(DemoDigest, ListsAnOpenBurnEvenWhenItsHoursAreNotKnown) {
  const std::string burns = section(DemoMorning("2027-03-30T06:30:00+11:00").digest(), "Open burns");
  EXPECT_TRUE(has(burns, "Log Landing Heaps, in mop-up, lit Sunday 28 March: the next 72 hours are not known.")) << burns;
}

TEST_F(DemoDigest, LooksAWeekAheadForAnOpenBurn) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  const LookAhead ahead = look_ahead(morning.hours_of_unit("log-landing-heaps"), morning.snapshot().now);
  // Read off the demo's weather table by hand: hot north-westerly on Monday 5 April.
  ASSERT_TRUE(ahead.danger_at);
  const LocalDate monday = morning.snapshot().zones.at("Australia/Sydney").date(ahead.danger_at->start());
  EXPECT_EQ(monday, *parse_date("2027-04-05"));
  ASSERT_TRUE(ahead.ffdi && ahead.humidity);
  EXPECT_LT(ahead.ffdi->value, 24);
  EXPECT_EQ(ahead.missing_hours, ahead.gust ? 0 : 72);
  EXPECT_EQ(look_ahead({}, morning.snapshot().now).missing_hours, 72);
}

TEST_F(DemoDigest, RanksCandidatesWithWindowReasonAndCrews) {
  const Digest digest = DemoMorning("2027-03-30T06:30:00+11:00").digest();
  const std::string candidates = section(digest, "Best candidates");
  EXPECT_TRUE(has(candidates, "Sawpit Ridge, Friday 10:00 to 17:00, possible; ventilation index limits; 2 crews.")) << candidates;
  EXPECT_TRUE(has(candidates, "Beyond their tails: calculated FFDI 45 on Monday.")) << candidates;
  EXPECT_TRUE(has(candidates, "lighting it closes Bracken Tops North for the season")) << candidates;
  EXPECT_LE(lines_of(digest, "Best candidates").size(), 12U);
  EXPECT_LE(lines_of(digest, "Near misses").size(), 5U);
  EXPECT_EQ(lines_of(digest, "Days 5–10").size(), 3U);
}

TEST_F(DemoDigest, TellsWhatCouldBeBurntTogetherAndWhoLosesOut) {
  const DemoMorning morning("2027-03-30T06:30:00+11:00");
  const LocalDate today = std::chrono::local_days(std::chrono::year(2027) / 3 / 30);
  EXPECT_EQ(planned_dates(today), std::pair(today, today + days(3)));
  core::Proposal proposal;
  proposal.proven = true;
  proposal.burns = {{.unit = "sawpit-ridge", .date = today + days(3), .window = {}, .needs = {}}};
  proposal.lost = {{"back-paddock", today + days(1), core::LossKind::airshed, "…"},
                   {"sawpit-ridge", today + days(1), core::LossKind::crews, "burnt on another date"},
                   {"back-paddock", today + days(2), core::LossKind::crews, "told already"},
                   {"old-tramway", today + days(3), core::LossKind::verdict, "could not be burnt anyway"},
                   {"lyrebird-gully", today + days(3), core::LossKind::crews, "…"}};
  Result<SharedProposal> plan = std::make_shared<const core::Proposal>(proposal);
  std::string candidates = section(morning.digest(nullptr, &plan), "Best candidates");
  EXPECT_TRUE(has(candidates, "Together could be burnt, nothing is booked: Friday Sawpit Ridge.")) << candidates;
  EXPECT_TRUE(has(candidates, "Lost out: for its airshed Back Paddock Wednesday; for crews Lyrebird Gully Friday."))
      << candidates;

  proposal.proven = false;
  plan = std::make_shared<const core::Proposal>(proposal);
  candidates = section(morning.digest(nullptr, &plan), "Best candidates");
  EXPECT_TRUE(has(candidates, "Together could be burnt, by the best plan found: Friday Sawpit Ridge.")) << candidates;

  plan = Error{ErrorKind::failed, "solver_ended", "", "the solver ended", ""};
  candidates = section(morning.digest(nullptr, &plan), "Best candidates");
  EXPECT_TRUE(has(candidates, "What could be done together is not known: the solver ended.")) << candidates;
}

TEST_F(DemoDigest, SaysWhatRestsOnAProvisionalModelAndWhatLeftItsDomain) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  auto& view = morning.snapshot().units.at("sawpit-ridge");
  const std::size_t ventilation = core::quantity_index("ventilation_index");
  auto doubtful = std::make_shared<UnitView>(*view);
  for (core::Day& day : doubtful->days) {
    day.provisional = {ventilation};
    day.missing = {{.quantity = ventilation, .hours = 3, .reason = core::Reason::out_of_domain}};
  }
  view = doubtful;
  const std::string candidates = section(morning.digest(), "Best candidates");
  EXPECT_TRUE(has(candidates, "ventilation index (provisional model) limits; 2 crews.")) << candidates;
  EXPECT_TRUE(has(candidates, "Some hours outside a model's domain: Sawpit Ridge.")) << candidates;
}

TEST_F(DemoDigest, ReadsAloudInUnderTwoMinutes) {
  const std::string text = digest_text(DemoMorning("2027-03-30T06:30:00+11:00").digest());
  std::istringstream words(text);
  const auto count = std::distance(std::istream_iterator<std::string>(words), {});
  EXPECT_LT(count, 2 * 180) << text;  // 180 words a minute is brisk news reading
}

TEST_F(DemoDigest, SaysWhereFeedsDoNotAgree) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  FeedView coarse;
  coarse.id = "coarse";
  coarse.freshness = Freshness::current;
  coarse.newest_complete = morning.feed().newest_complete;
  morning.snapshot().feeds.push_back(coarse);
  auto view = std::make_shared<UnitView>(*morning.snapshot().units.at("sawpit-ridge"));
  for (core::Day& day : view->days) day.feeds.push_back({.feed = "coarse", .run = "coarse.1", .verdict = core::Verdict::out});
  morning.snapshot().units["sawpit-ridge"] = view;
  const std::string candidates = section(morning.digest(), "Best candidates");
  EXPECT_TRUE(has(candidates, "Sawpit Ridge, Friday 10:00 to 17:00, possible; ventilation index limits; 2 crews.")) << candidates;
  EXPECT_TRUE(has(candidates, "coarse says out: Sawpit Ridge.")) << candidates;
  EXPECT_TRUE(has(candidates, "fine alone reaches: ")) << candidates;
  EXPECT_TRUE(has(candidates, "Else feeds agree as far as they reach.")) << candidates;
  EXPECT_TRUE(has(digest_text(morning.digest()), "Forecast made Monday 29 March 23:00 (fine and coarse), 8 hours old"));
}

TEST_F(DemoDigest, NeverSaysTheWordsToAvoid) {
  for (const char* now : {"2027-03-30T06:30:00+11:00", "2027-03-31T06:30:00+11:00", "2027-04-01T06:30:00+11:00",
                          "2027-04-03T06:30:00+11:00", "2027-04-04T06:30:00+10:00", "2027-04-07T06:30:00+10:00"}) {
    const DemoMorning morning(now);
    SaidBefore before = morning.said();
    for (auto& [id, by_date] : before.units)
      for (auto& [date, said] : by_date)
        said.verdict = said.verdict == core::Verdict::met ? core::Verdict::out : core::Verdict::met;
    expect_no_word_to_avoid(own_words(morning.digest(&before)));
  }
}

TEST_F(DemoDigest, TellsOffsetsOnTheDateTheClocksChange) {
  const Digest sunday = DemoMorning("2027-04-04T06:30:00+10:00").digest();
  EXPECT_TRUE(
      digest_text(sunday).starts_with("Tallowmere, Sunday 4 April 2027, 06:30 (+11:00 until the clocks change, then +10:00)\n"));
  // The night of Saturday ends on the date of 25 hours.
  const std::string candidates = section(DemoMorning("2027-04-02T06:30:00+11:00").digest(), "Best candidates");
  EXPECT_TRUE(has(candidates, "Samphire Point, Saturday 19:00+11:00 to 02:00+11:00 Sunday")) << candidates;
}

TEST_F(DemoDigest, AnEmptyPictureSaysThatNothingIsKnown) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  morning.snapshot().units.clear();
  morning.snapshot().feeds.clear();
  morning.district().bookings.clear();
  morning.district().stops.clear();
  const Digest digest = morning.digest();
  expect_headings(digest_text(digest));
  EXPECT_TRUE(has(digest_text(digest), "No forecast has been read yet; inputs missing: all."));
  EXPECT_EQ(section(digest, "Open burns"), "None entered here as lit, in mop-up or on patrol.\n");
  EXPECT_EQ(section(digest, "Best candidates"), "Not known: no forecast has been read yet.\n");
  EXPECT_EQ(section(digest, "Days 5–10"), "Not known: no forecast has been read yet.\n");
  EXPECT_TRUE(has(section(digest, "Season"), "Not known: no forecast has been read yet.\n"));
}

TEST_F(DemoDigest, SaysWhichHoursOfANewerRunAreMissing) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  RunRow incomplete;
  incomplete.id = "fine.2027-03-29T18:00:00Z";
  incomplete.feed = "fine";
  incomplete.reference_time = must(parse_instant("2027-03-29T18:00:00Z"));
  incomplete.state = "incomplete";
  incomplete.details = R"({"files":[],"lacks":["hours 31-34 of everything"]})";
  morning.feed().runs.push_back(incomplete);
  EXPECT_TRUE(has(digest_text(morning.digest()),
                  "inputs missing: the fine run of Tuesday 05:00 lacks hours 31-34 of everything and is not used."));
}

TEST_F(DemoDigest, AnOldForecastIsProminentAndItsWindowsUnconfirmed) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  morning.feed().freshness = Freshness::stale;
  EXPECT_EQ(morning.digest().head.at(0),
            "OLD FORECAST: fine is older than one and a half cycles; take its windows as unconfirmed.");
}

TEST_F(DemoDigest, BookingsOfTheTwoDaysAreListedWithWhatSpeaksAgainstThem) {
  DemoMorning morning("2027-04-02T06:30:00+11:00");
  const LocalDate friday = *parse_date("2027-04-02");
  morning.district().bookings.push_back(
      {.unit = "sawpit-ridge", .state = "committed", .date = friday, .lit_at = {}, .notice_for = {friday}});
  morning.district().bookings.push_back(
      {.unit = "racecourse-reserve", .state = "draft", .date = friday + days(1), .lit_at = {}, .notice_for = {}});
  morning.judge();
  const auto lines = lines_of(morning.digest(), "Planned today and tomorrow");
  ASSERT_EQ(lines.size(), 2U);
  EXPECT_TRUE(has(lines[0], "Sawpit Ridge, Friday 2 April, committed: met, window 10:00 to 17:00; ventilation index limits by"))
      << lines[0];
  EXPECT_TRUE(has(lines[0], "night and days after in")) << lines[0];
  EXPECT_TRUE(has(lines[1], "Racecourse Reserve, Saturday 3 April, draft: blocked")) << lines[1];
  EXPECT_TRUE(has(lines[1], "festival at the racecourse")) << lines[1];
}

TEST_F(DemoDigest, NoticesOfLaterBookingsAreAskedForBeforeTheyAreDue) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  // Schoolhouse Block wants three days' notice, Vineyard Edge five.
  const auto book = [&](const char* unit, const char* date, std::vector<LocalDate> noticed) {
    morning.district().bookings.push_back(
        {.unit = unit, .state = "draft", .date = *parse_date(date), .lit_at = {}, .notice_for = std::move(noticed)});
  };
  book("schoolhouse-block", "2027-04-03", {});
  book("schoolhouse-block", "2027-04-02", {*parse_date("2027-04-02")});
  book("schoolhouse-block", "2027-04-05", {});
  book("vineyard-edge", "2027-04-02", {});
  const auto lines = lines_of(morning.digest(), "Planned today and tomorrow");
  ASSERT_EQ(lines.size(), 2U) << "what is noticed or due later is left out";
  EXPECT_TRUE(
      has(lines[0], "Schoolhouse Block, Saturday 3 April, draft: notice is due by the end of Wednesday 31 March, none entered."))
      << lines[0];
  EXPECT_TRUE(has(lines[1], "Vineyard Edge, Friday 2 April, draft: notice was due by the end of Sunday 28 March, none entered."))
      << lines[1];
}

TEST_F(DemoDigest, AnOpenBurnsWeekIsToldByItsTailTheWindChangeAndTheRain) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  const UnitView& heaps = *morning.snapshot().unit("log-landing-heaps");
  const auto week = core::burn_days(heaps.unit.traits, heaps.unit.prescription, morning.hours_of_unit("log-landing-heaps"),
                                    morning.snapshot().now);
  const std::vector<std::string> words = burn_week_words(heaps, week);
  ASSERT_EQ(words.size(), 3U);
  EXPECT_TRUE(words[0].starts_with("its tail fails Monday, calculated FFDI ")) << words[0];
  EXPECT_TRUE(words[0].ends_with(", needs less than 24")) << words[0];
  EXPECT_TRUE(words[1].starts_with("wind change Monday 17:00, ")) << words[1];
  EXPECT_TRUE(has(words[2], "until Tuesday")) << words[2];
  EXPECT_TRUE(
      burn_week_words(heaps, core::burn_days(heaps.unit.traits, heaps.unit.prescription, {}, morning.snapshot().now)).empty());
}

TEST_F(DemoDigest, TheSeasonSaysWhatIsLitAndRareAndWhatIsNotKnown) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  const LocalDate today = *parse_date("2027-03-30");
  const auto lit = [&](const char* unit, const char* state, LocalDate date) {
    morning.district().bookings.push_back({.unit = unit,
                                           .state = state,
                                           .date = date,
                                           .lit_at = must(time_zone("Australia/Sydney")).instant(date, hours(11)),
                                           .notice_for = {}});
  };
  lit("sawpit-ridge", "closed", today - days(364));
  lit("old-tramway", "closed", today - days(365));
  morning.units()[1].status = "part_burnt";
  morning.judge();
  // A picture made of a table has no record of its units' weather.
  EXPECT_EQ(lines_of(morning.digest(), "Season"),
            (std::vector<std::string>{"Not known: KBDI, drought factor and days since rain.",
                                      "Lit in twelve months: 2 units, 1 still open; 1 burnt in part."}));
  // 20 met days in 366 judged ones.
  core::History history;
  for (int day = 0; day < 366; ++day)
    history.dates.push_back({today - days(366 - day), day < 20 ? core::Verdict::met : core::Verdict::out});
  history.met = 20;
  auto& view = morning.snapshot().units.at("sawpit-ridge");
  auto rare = std::make_shared<UnitView>(*view);
  rare->history = std::make_shared<core::History>(history);
  view = rare;
  EXPECT_EQ(lines_of(morning.digest(), "Season").back(), "Rarest by past years: Sawpit Ridge, 20 met days a year.");
}

TEST_F(DemoDigest, WithoutAnEarlierOneThereIsNothingToCompareWith) {
  EXPECT_EQ(section(DemoMorning("2027-03-30T06:30:00+11:00").digest(), "What changed"),
            "Nothing to compare with: no earlier digest is kept.\n");
}

TEST_F(DemoDigest, TellsOpenedLostAndMovedWindowsInThatOrder) {
  const DemoMorning morning("2027-03-31T06:30:00+11:00");
  SaidBefore before = morning.said();
  EXPECT_EQ(section(morning.digest(&before), "What changed"),
            "No window opened, was lost or moved since Wednesday 31 March 06:30.\n");
  const LocalDate friday = *parse_date("2027-04-02");
  before.units.at("sawpit-ridge").at(friday).verdict = core::Verdict::near_miss;
  before.units.at("old-tramway").at(friday).verdict = core::Verdict::met;
  auto& moved = before.units.at("blue-gum-spur").at(friday);
  moved.start = *moved.start + hours(1);
  before.units.at("blue-gum-spur").erase(*parse_date("2027-04-03"));
  const auto lines = lines_of(morning.digest(&before), "What changed");
  ASSERT_EQ(lines.size(), 3U);
  EXPECT_EQ(lines[0], "Opened: Sawpit Ridge, Friday 2 April, 10:00 to 17:00.");
  EXPECT_EQ(lines[1], "Lost: Old Tramway, Friday 2 April, now out; wind direction limits.");
  EXPECT_EQ(lines[2], "Moved: Blue Gum Spur, Friday 2 April, from 12:00 to 17:00 to 11:00 to 17:00.");
}

// JOB 7 H28, as far as it is the digest: a window that flickers between two mornings.
TEST_F(DemoDigest, H28_AWindowThatCameAndWentSinceTheDayBeforeIsSaidOnceOrNotAtAll) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  const SaidBefore before = morning.said();
  const LocalDate friday = *parse_date("2027-04-02");
  auto& stops = morning.district().stops;
  const auto lose = [&] {
    stops.push_back({.covers = StopEntry::Covers::unit,
                     .whom = "sawpit-ridge",
                     .from = friday,
                     .to = friday,
                     .kind = "other",
                     .why = "a stop"});
    morning.judge();
  };
  for (int run = 0; run < 6; ++run) {
    lose();
    stops.pop_back();
    morning.judge();
  }
  EXPECT_TRUE(section(morning.digest(&before), "What changed").starts_with("No window opened, was lost or moved since"))
      << "as it was";
  lose();
  EXPECT_EQ(lines_of(morning.digest(&before), "What changed"),
            std::vector<std::string>{"Lost: Sawpit Ridge, Friday 2 April, now blocked; a stop."});
}

TEST_F(DemoDigest, H8_ANightThatKeepsItsSmokeIsSaidWithTheEndThatIsAdvised) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  auto& view = morning.snapshot().units.at("sawpit-ridge");
  auto smoky = std::make_shared<UnitView>(*view);
  for (core::Day& day : smoky->days) {
    day.night_smoke = {.limit = 0, .value = 1.f, .at = {}, .finish_by = must(parse_instant("2027-04-02T16:00:00+11:00"))};
    day.flags = {"coastal unit: sea breeze may be under-resolved by coarse"};
  }
  view = smoky;
  const std::string candidates = section(morning.digest(), "Best candidates");
  EXPECT_TRUE(has(candidates, "Night smoke limit not met, earlier end advised: all but Windrow Flat.")) << candidates;
  EXPECT_TRUE(has(candidates, "Coastal unit: sea breeze may be under-resolved by coarse: Sawpit Ridge.")) << candidates;
}

TEST_F(DemoDigest, IsReadBackFromItsJsonAsPeopleReadIt) {
  const Digest digest = DemoMorning("2027-03-30T06:30:00+11:00").digest();
  const Digest again = must(parse_digest(must(parse_json(digest_json(digest), "digest")), digest.title));
  EXPECT_EQ(digest_text(again), digest_text(digest));
  EXPECT_EQ(digest_html(again), digest_html(digest));
}

TEST_F(DemoDigest, SaysNothingOnlyWhereThereIsNothingToActOn) {
  DemoMorning morning("2027-03-30T06:30:00+11:00");
  EXPECT_FALSE(says_nothing(morning.digest()));
  morning.district().bookings.clear();
  for (auto& [id, view] : morning.snapshot().units) {
    auto idle = std::make_shared<UnitView>(*view);
    for (core::Day& day : idle->days) day.verdict = core::Verdict::out;
    view = idle;
  }
  EXPECT_TRUE(says_nothing(morning.digest())) << digest_text(morning.digest());
}

TEST_F(DemoDigest, WhatWasSaidSurvivesItsText) {
  const SaidBefore said = DemoMorning("2027-03-31T06:30:00+11:00").said();
  const SaidBefore again = must(parse_said(said_json(said)));
  EXPECT_EQ(again.at, said.at);
  EXPECT_EQ(again.units.size(), 16U);
  EXPECT_EQ(said_json(again), said_json(said));
  const auto& friday = again.units.at("sawpit-ridge").at(*parse_date("2027-04-02"));
  EXPECT_EQ(friday.verdict, core::Verdict::met);
  EXPECT_EQ(*friday.start, must(parse_instant("2027-04-02T10:00:00+11:00")));
}

TEST(Said, DamagedTextIsRefusedAndNotRead) {
  EXPECT_FALSE(parse_said("{"));
  EXPECT_FALSE(parse_said(R"({"at":"2027-03-31T06:30:00+11:00","units":{"a":{"2027-04-02":{"verdict":"splendid"}}}})"));
  EXPECT_FALSE(parse_said(R"({"units":{}})"));
}

TEST_F(DemoDigest, AsJsonItHasTheSameLines) {
  const Digest digest = DemoMorning("2027-03-30T06:30:00+11:00").digest();
  const json::value document = must(parse_json(digest_json(digest), "digest"));
  EXPECT_EQ(document.at("district").as_string(), "tallowmere");
  EXPECT_EQ(document.at("issued_at").as_string(), "2027-03-30T06:30:00+11:00");
  const json::array& sections = document.at("sections").as_array();
  ASSERT_EQ(sections.size(), kHeadings.size());
  for (std::size_t i = 0; i < sections.size(); ++i) {
    EXPECT_EQ(std::string(sections[i].at("heading").as_string()), kHeadings[i]);
    ASSERT_EQ(sections[i].at("lines").as_array().size(), digest.sections[i].lines.size());
    for (std::size_t l = 0; l < digest.sections[i].lines.size(); ++l)
      EXPECT_EQ(std::string(sections[i].at("lines").at(l).at("text").as_string()), digest.sections[i].lines[l].text);
  }
}

// Everything that the text says, in the same order, and nothing that a mail reader would have to load.
TEST_F(DemoDigest, AsHtmlItHasTheSameLines) {
  const Digest digest = DemoMorning("2027-03-30T06:30:00+11:00").digest();
  std::string text = digest_html(digest);
  for (const std::string outside : {"<script", "<img", "<link", "href=", "src=", "url(", "<style", " class="})
    EXPECT_FALSE(has(text, outside)) << outside;
  EXPECT_TRUE(has(text, R"(<meta name="color-scheme" content="light dark">)"));
  EXPECT_FALSE(std::regex_search(text, std::regex("[^-]color:|background"))) << "the reader's own colours";
  text = std::regex_replace(text.substr(text.find("<body")), std::regex("<[^>]*>"), "");
  for (const auto& [escaped, letter] : {std::pair("&lt;", "<"), std::pair("&gt;", ">"), std::pair("&quot;", "\""),
                                        std::pair("&#39;", "'"), std::pair("&amp;", "&")})
    for (std::size_t at = 0; (at = text.find(escaped, at)) != std::string::npos; ++at)
      text.replace(at, std::string_view(escaped).size(), letter);
  const auto words = [](const std::string& of) {
    std::istringstream stream(of);
    return std::vector<std::string>(std::istream_iterator<std::string>(stream), {});
  };
  EXPECT_EQ(words(text), words(digest_text(digest)));
}

}  // namespace
}  // namespace hakea::service
