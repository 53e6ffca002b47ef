// The published picture: what the service answers from. Immutable; a new one takes its place by one pointer swap, so that
// a reader sees all of a run and of people's entries, or nothing of it.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "core/days/compare.h"
#include "core/days/evaluate.h"
#include "core/days/history.h"
#include "service/input/district_json.h"
#include "service/input/unit_json.h"
#include "service/output/day_json.h"
#include "service/store/store.h"

namespace hakea::service {

enum class Freshness : std::uint8_t { current, late, stale };  // stale: older than 1.5 cycles, or no run
std::string_view word(Freshness freshness);

// The weather of a unit: what the runs say, packed; opaque outside service/engine.
class UnitWeatherRecord;
// What earlier runs said, and what became of forecasts (at_issue.h, verification.h).
struct SaidAtIssue;
struct Verification;

struct UnitView {
  Unit unit;  // as parsed, with its current prescriptions
  int revision = 0, prescription_revision = 0;
  UtcTime updated_at{};           // of the unit or one of its prescriptions, whichever was entered last
  std::string feature_json;       // the GeoJSON Feature as served
  std::string prescription_json;  // main
  std::vector<core::Day> days;    // best first; empty before the first run
  std::optional<RunNote> run;     // the newest run that the days rest on; the main one where feeds are spliced
  Freshness freshness = Freshness::stale;
  std::shared_ptr<const UnitWeatherRecord> weather;  // null before the first run
  std::vector<SamplingNote> sampling;
  std::shared_ptr<const core::History> history;  // from the past years of the configuration; null where it has none of the unit
  std::map<std::string, std::shared_ptr<const SaidAtIssue>> said;  // by run: those before the newest of the main feed
  std::shared_ptr<const Verification> verified;  // up to the beginning of this day of UTC; null without observations
  std::string verified_key;                      // of what it was made from
};

struct FeedView {
  std::string id;
  Freshness freshness = Freshness::stale;
  std::optional<RunNote> newest_complete;
  std::optional<UtcTime> next_expected;
  std::vector<RunRow> runs;      // newest first, also incomplete and refused ones
  std::vector<FileRow> refused;  // files with reasons
  std::string trouble;           // empty, or why the feed cannot be read (no folder, …)
};

struct DistrictView {
  District district;  // holidays, stops and bookings as judged
  int revision = 0;
  std::string json;                  // member `district` as entered
  const TimeZone* zone = nullptr;    // of the district; owned by the snapshot
  std::vector<std::string> caution;  // extra lines, such as the demo's
};

struct Snapshot {
  std::uint64_t number = 0;  // ascends with each publication
  UtcTime now{};             // the service's time it was judged at
  UtcTime made_at{};
  bool is_demo = false;
  std::map<std::string, DistrictView, std::less<>> districts;
  std::map<std::string, TimeZone, std::less<>> zones;
  std::map<std::string, std::shared_ptr<const UnitView>, std::less<>> units;  // not retired ones; retired ones in `retired`
  std::map<std::string, std::shared_ptr<const UnitView>, std::less<>> retired;
  Neighbours neighbours;                             // of both
  std::vector<Entry> bookings, stops, observations;  // as entered, by id
  std::vector<FeedView> feeds;                       // in configured order
  std::set<std::string> unverified;                  // units whose verification is still to be brought up to the day

  const UnitView* unit(std::string_view id) const;
  const UnitView* unit_or_retired(std::string_view id) const;
  // The open bookings (lit, mop_up, patrol) of a unit are in districts[…].district.bookings.
};

// A run as it is told of.
RunNote run_note(const RunRow& run, std::optional<UtcTime> next_expected);

// The weather of a unit with all members; null before the first run, and where those that were put aside cannot be read again:
// then nothing is known.
std::shared_ptr<const UnitWeatherRecord> whole_weather_of(const UnitView& view);
// The hours of a unit computed from its record: points[point][member], every catalogue row filled. Pure.
std::vector<std::vector<core::UnitHours>> hours_of(const UnitView& view);
// What looks for the worst that may come takes the worse of all feeds: the same, with the hours of each feed alone as further
// members; what that does not know is as in the main series. `first`: one member of the main series and of each feed.
enum class Members { all, first };
std::vector<std::vector<core::UnitHours>> hours_of_all_feeds(const UnitView& view, Members which = Members::all);
// The hours as one run told them, where the record still has it. Error: `not_found`.
Result<std::vector<std::vector<core::UnitHours>>> hours_of(const UnitView& view, std::string_view run);

// What people decided that bears on a unit.
core::UnitPlan plan_of_unit(const Snapshot& snapshot, const Unit& unit);

// What the days would be under another prescription (INTERFACE §7 trial): the same as storing it would give. Pure.
std::vector<core::Day> trial_days(const Snapshot& snapshot, const UnitView& view, const core::Prescription& prescription);

// On how many days a year past years would have let a unit be burnt, once about a year is known.
std::optional<double> met_days_a_year(const UnitView& view);

// What ranks a unit on a date that it has a day for; it must outlive what is returned.
core::UnitOnDay standing_on(const UnitView& view, LocalDate date);
// Units of a date in the order of INTERFACE §3 "Across units".
std::vector<const UnitView*> ranked_units(const Snapshot& snapshot, LocalDate date);
// The day of a unit on a date, or null.
const core::Day* day_on(const UnitView& view, LocalDate date);

}  // namespace hakea::service
