#include "service/engine/judge.h"

#include <algorithm>
#include <atomic>
#include <thread>

#include "core/catalogue/catalogue.h"
#include "core/days/feeds.h"

namespace hakea::service {
namespace {

std::vector<core::Day> days_of(const UnitWeatherRecord& record, const Unit& unit, const core::UnitPlan& plan, UtcTime now,
                               UnitWeatherRecord::Feed feed, UtcTime reference_time) {
  auto points = record.hours(unit, feed);
  for (auto& members : points)
    for (core::UnitHours& hours : members) core::compute_all(hours);
  return core::evaluate_days({&unit.traits, &unit.prescription, &plan, now, reference_time, points});
}

// An incomplete run may lose windows but opens none: what only it would open is not known.
void open_nothing_new(std::vector<core::Day>& days, const std::set<LocalDate>& may_be_met) {
  for (core::Day& day : days) {
    if (day.weather != core::Verdict::met || may_be_met.contains(day.date)) continue;
    day.weather = core::Verdict::unknown;
    if (day.verdict == core::Verdict::met) day.verdict = core::Verdict::unknown;
    for (core::Window& window : day.windows) window.unconfirmed = true;
    day.why = "the run is incomplete and opens no window by itself; " + day.why;
  }
  core::rank_days(days);
}

}  // namespace

std::vector<core::Day> judged_days(const UnitWeatherRecord& record, const Unit& unit, const core::UnitPlan& plan, UtcTime now) {
  std::vector<core::FeedDays> feeds;
  for (const UnitRunPtr& run : record.newest())
    feeds.push_back({.feed = run->feed,
                     .run = run->id,
                     .days = days_of(record, unit, plan, now, run->order, run->reference_time),
                     .end = run->end()});
  // With a single feed the main series is that feed's.
  std::vector<core::Day> main = record.newest().size() == 1
                                    ? feeds.front().days
                                    : days_of(record, unit, plan, now, std::nullopt, record.newest().front()->reference_time);
  std::vector<core::Day> days = core::join_feeds(std::move(main), feeds);
  if (record.may_be_met) open_nothing_new(days, *record.may_be_met);
  return days;
}

void for_each_in_parallel(std::size_t count, const std::function<void(std::size_t)>& work) {
  const std::size_t workers = std::clamp<std::size_t>(std::thread::hardware_concurrency(), 1, std::max<std::size_t>(count, 1));
  std::atomic<std::size_t> next = 0;
  std::vector<std::jthread> threads;
  for (std::size_t w = 0; w < workers; ++w)
    threads.emplace_back([&] {
      for (std::size_t i = next++; i < count; i = next++) work(i);
    });
}

}  // namespace hakea::service
