#include "service/engine/at_issue.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/days/confidence.h"
#include "core/prescription/limit_hours.h"

namespace hakea::service {
namespace {

// How far back hours are looked at; the state stands for everything before. Few, so that a picture has them at hand.
constexpr std::chrono::days kLookedBack = kHoursBefore - std::chrono::days(1);

bool gives_hours_before(const UnitRun& other, const std::string& id, UtcTime reference_time) {
  return other.id != id && other.reference_time <= reference_time && other.reference_time >= reference_time - kHoursBefore;
}

std::vector<UnitRunPtr> by_then(const UnitRunPtr& run, const std::vector<UnitRunPtr>& known) {
  std::vector<UnitRunPtr> runs{run};
  for (const UnitRunPtr& other : known)
    if (gives_hours_before(*other, run->id, run->reference_time)) runs.push_back(other);
  return runs;
}

ObservedWeather seen_by_then(UtcTime reference_time, ObservedWeather seen) {
  seen.keep_only(first_hour_from(reference_time - kLookedBack), UtcHour::of(reference_time));
  return seen;
}

std::optional<core::WetnessState> state_by_then(const Unit& unit, const CarriedDays& carried, UtcTime reference_time) {
  std::vector<std::string> untold;  // a damaged state is told where the picture is made
  return state_to_begin_with(unit, carried, first_hour_from(reference_time), untold, kLookedBack);
}

}  // namespace

AtIssue::AtIssue(const Unit& unit, UnitRunPtr run, const std::vector<UnitRunPtr>& known, const CarriedDays& carried,
                 const ObservedWeather& seen)
    : unit_(&unit), run_(std::move(run)), record_(by_then(run_, known), seen_by_then(run_->reference_time, seen)) {
  record_.begin_with(state_by_then(unit, carried, run_->reference_time));
}

std::string key_at_issue(const Unit& unit, const RunRow& run, const std::vector<UnitRunPtr>& known, const CarriedDays& carried,
                         const ObservedWeather& seen) {
  std::string key = fmt::format("{}#{} {}", run.id, run.revision, unit.traits.fuel.age_years);
  for (const UnitRunPtr& other : known)
    if (gives_hours_before(*other, run.id, run.reference_time)) key += fmt::format(" {}#{}", other->id, other->revision);
  key +=
      fmt::format(" {:x}", seen.fingerprint(first_hour_from(run.reference_time - kLookedBack), UtcHour::of(run.reference_time)));
  if (const CarriedRow* row = row_to_begin_with(unit, carried, first_hour_from(run.reference_time), kLookedBack))
    key += " " + row->state;
  return key;
}

Points AtIssue::hours(const core::Rows& wanted) const { return computed(record_.hours(*unit_, run_->order), wanted); }

std::vector<AtIssue::OnDate> AtIssue::said(const Points& hours) const {
  const core::UnitPlan undecided;
  core::DayInput input{&unit_->traits, &unit_->prescription, &undecided, run_->reference_time, run_->reference_time, hours};
  if (hours.front().size() > 1) {
    input.members_by_hour = record_.members_by_hour(hours.front().front(), run_->order);
    input.member_ends = record_.member_ends(run_->order);
  }
  std::vector<OnDate> dates;
  for (const core::Day& day : core::evaluate_days(input)) dates.push_back({day.date, day.weather, day.members});
  std::sort(dates.begin(), dates.end(), [](const OnDate& a, const OnDate& b) { return a.date < b.date; });
  return dates;
}

void weigh(std::vector<core::Day>& days, const std::vector<const SaidAtIssue*>& earlier, const Verification* verified,
           const std::string& feed) {
  for (core::Day& day : days) {
    core::Agreement agreement;
    for (const SaidAtIssue* said : earlier)
      for (const AtIssue::OnDate& on : said->dates) {
        if (on.date != day.date || core::says_nothing(on.weather) || core::says_nothing(day.weather)) continue;
        ++agreement.of;
        agreement.same += core::says_the_same(on.weather, day.weather);
      }
    day.rests_on.runs = agreement;
    if (verified) day.rests_on.verified = windows_that_came(*verified, feed, day.rests_on.lead_days);
    day.confidence = core::confidence_of(day.rests_on);
  }
}

}  // namespace hakea::service
