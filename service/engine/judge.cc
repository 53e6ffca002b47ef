#include "service/engine/judge.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/days/feeds.h"
#include "core/prescription/limit_hours.h"

namespace hakea::service {
namespace {

// The same hours followed by as many unknown ones as make `count`, so that a feed that ends early lies beside one that does
// not.
Points lengthened(const Points& points, std::size_t count) {
  Points longer = points;
  for (auto& members : longer)
    for (core::UnitHours& hours : members) {
      if (hours.hours >= count) continue;
      for (auto* columns : {&hours.columns, &hours.readings})
        for (core::Column& column : *columns) {
          if (column.empty()) continue;
          core::Column more(count, core::Reason::beyond_horizon);
          for (std::size_t i = 0; i < column.size(); ++i)
            if (column.is_missing(i))
              more.set_missing(i, column.why(i));
            else
              more.set(i, static_cast<double>(column[i]), column.flags(i));
          column = std::move(more);
        }
      hours.hours = count;
    }
  return longer;
}

// An incomplete run may lose windows but opens none: what only it would open is not known. `whole`: the days without it.
void open_nothing_new(std::vector<core::Day>& days, const std::vector<core::Day>& whole) {
  for (core::Day& day : days) {
    const bool may_be_met = std::any_of(whole.begin(), whole.end(), [&](const core::Day& other) {
      return other.date == day.date && other.weather == core::Verdict::met;
    });
    if (day.weather != core::Verdict::met || may_be_met) continue;
    day.weather = core::Verdict::unknown;
    if (day.verdict == core::Verdict::met) day.verdict = core::Verdict::unknown;
    for (core::Window& window : day.windows) window.unconfirmed = true;
    day.why = "the run is incomplete and opens no window by itself; " + day.why;
  }
  core::rank_days(days);
}

// The feeds whose grid is not known to have sea by a coastal unit: their wind may miss the sea breeze.
void flag_sea_breeze(std::vector<core::Day>& days, const UnitWeatherRecord& record, const Unit& unit) {
  if (!unit.traits.sea_bearing_deg) return;
  std::vector<std::string> feeds;
  for (const UnitRunPtr& run : record.newest())
    if (run->at(0, 0).sea() != ingest::Sea::near) feeds.push_back(run->feed);
  if (feeds.empty()) return;
  const std::string flag = fmt::format("coastal unit: sea breeze may be under-resolved by {}", fmt::join(feeds, ", "));
  for (core::Day& day : days) day.flags.push_back(flag);
}

}  // namespace

Points computed(Points points, const core::Rows& wanted) {
  for (auto& members : points)
    for (core::UnitHours& hours : members) core::compute_all(hours, wanted);
  return points;
}

std::vector<core::Day> judged_days(const UnitWeatherRecord& record, const Unit& unit, const core::UnitPlan& plan, UtcTime now) {
  const auto evaluated = [&](const Points& points, UnitWeatherRecord::Feed feed, UtcTime reference_time,
                             const std::vector<Points>& others) {
    core::DayInput input{&unit.traits, &unit.prescription, &plan, now, reference_time, points};
    if (points.front().size() > 1) {
      input.members_by_hour = record.members_by_hour(points.front().front(), feed);
      input.member_ends = record.member_ends(feed);
    }
    for (const Points& other : others) input.other_feeds.emplace_back(other);
    return core::evaluate_days(input);
  };
  const core::Rows wanted = core::rows_of_limits(unit.prescription);
  std::vector<Points> feeds;
  std::vector<core::FeedJudgement> judgements;
  std::vector<core::Day> days;
  for (const UnitRunPtr& run : record.newest()) {
    feeds.push_back(computed(record.hours(unit, run->order, {}, wanted), wanted));
    days = evaluated(feeds.back(), run->order, run->reference_time, {});
    const UtcHour first = run->first_lead > 0 ? run->first() : feeds.back().front().front().first;
    judgements.push_back(core::judged_alone(run->feed, run->id, first, run->end(), days));
    std::erase_if(judgements.back().dates, [&](const auto& on) { return on.date < unit.traits.zone.date(first.start()); });
  }
  if (feeds.size() > 1) {  // of a single feed the main series is its own
    const Points main = computed(record.hours(unit, std::nullopt, {}, wanted), wanted);
    for (Points& feed : feeds) feed = lengthened(feed, main.front().front().hours);
    days = evaluated(main, std::nullopt, record.newest().front()->reference_time, feeds);
  }
  days = core::join_feeds(std::move(days), judgements);
  flag_sea_breeze(days, record, unit);
  if (record.lacks_something)
    open_nothing_new(days, record.of_whole_runs ? judged_days(*record.of_whole_runs, unit, plan, now) : std::vector<core::Day>());
  return days;
}

}  // namespace hakea::service
