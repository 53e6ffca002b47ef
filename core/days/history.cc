#include "core/days/history.h"

#include <algorithm>
#include <bit>

#include "core/base/result.h"
#include "core/days/blocked.h"
#include "core/days/exposed.h"
#include "core/days/judge.h"

namespace hakea::core {
namespace {

using std::chrono::days;

constexpr int kDaysToKnowRarity = 350;  // a year but for a few days that cannot be told [our own default]

// Over all light-up hours: what each limit takes away, and which limits are ever in together.
class HourCount {
 public:
  explicit HourCount(const Record& record) : record_(&record) {
    const auto& limits = record.limits();
    for (std::size_t i = 0; i < limits.size(); ++i)
      if (limits[i].limit().kind != Kind::preference) counted_.push_back(i);
    lost_.resize(counted_.size());
    together_.assign(counted_.size(), std::vector<bool>(counted_.size(), false));
    for (std::size_t k = 0; k < counted_.size(); ++k) lost_[k].limit = counted_[k];
  }

  void add(LocalDate date) {
    const DateLimits& on = record_->on(date);
    std::vector<HourSet> in, out;
    HourSet once = 0, twice = 0;  // hours that at least one limit is out in, at least two
    for (const std::size_t i : counted_) {
      const Sure hours = hours_kept(record_->limits()[i], on.limits[i], on.date);
      in.push_back(hours.known & on.recorded);
      out.push_back(~hours.possible & on.recorded);
      twice |= once & out.back();
      once |= out.back();
    }
    for (std::size_t k = 0; k < counted_.size(); ++k) {
      lost_[k].alone += std::popcount(out[k] & ~twice);
      lost_[k].together += std::popcount(out[k] & twice);
      for (std::size_t l = 0; l <= k; ++l)
        if (in[k] & in[l]) together_[k][l] = true;  // with itself: is ever in
    }
  }

  std::vector<History::Lost> lost() const { return lost_; }
  std::vector<std::pair<std::size_t, std::size_t>> never_together() const {
    std::vector<std::pair<std::size_t, std::size_t>> pairs;
    for (std::size_t l = 0; l < counted_.size(); ++l)
      for (std::size_t k = l + 1; k < counted_.size(); ++k)
        if (together_[k][k] && together_[l][l] && !together_[k][l]) pairs.emplace_back(counted_[l], counted_[k]);
    return pairs;
  }

 private:
  const Record* record_;
  std::vector<std::size_t> counted_;  // limits other than preferences
  std::vector<History::Lost> lost_;
  std::vector<std::vector<bool>> together_;
};

void count_met(History& history, LocalDate date) {
  const std::chrono::year_month_day ymd(date);
  ++history.met;
  ++history.by_month[static_cast<unsigned>(ymd.month()) - 1];
  ++history.by_year.back().met;
}

}  // namespace

std::optional<double> History::rarity() const {
  const int known = static_cast<int>(dates.size()) - unknown;
  if (known < kDaysToKnowRarity) return std::nullopt;
  const double met_a_year = met / (known / 365.25);
  return std::max(0.0, 1 - met_a_year / 366);
}

History history_of(const HistoryInput& input) {
  HAKEA_EXPECT(!input.points.empty() && !input.points.front().empty());
  History history;
  const UnitHours& hours = input.points.front().front();
  if (hours.hours == 0) return history;
  const TimeZone& zone = input.unit->zone;
  const LocalDate first = zone.date(hours.first.start()), last = zone.date((hours.end() - 1).start());
  std::vector<const UnitHours*> points;
  for (const auto& point : input.points) points.push_back(&point.front());
  const UtcTime now = hours.first.start();
  const UnitClock clock(*input.unit, *input.prescription, hours.first, hours.hours);
  Record record(clock, *input.prescription, points, now);
  const ExposedPoints exposed(input.points, *input.prescription);
  std::vector<const UnitHours*> in_the_open;
  for (const auto& point : exposed.hours()) in_the_open.push_back(&point.front());
  std::optional<Record> open;
  if (!in_the_open.empty()) record.heed(open.emplace(clock, *input.prescription, in_the_open, now));
  UnitPlan plan;
  plan.holidays = input.holidays;

  HourCount count(record);
  std::vector<int> gained(record.limits().size(), 0);
  for (LocalDate date = std::max(first, input.from.value_or(first)); date <= std::min(last, input.to.value_or(last));
       date += days(1)) {
    const int year = static_cast<int>(std::chrono::year_month_day(date).year());
    if (history.by_year.empty() || history.by_year.back().year != year) history.by_year.push_back({year, 0});
    history.dates.push_back({date, Verdict::blocked});
    History::OnDate& on = history.dates.back();
    if (!blocked_on_any(*input.unit, *input.prescription, plan, date, record.clock(), now).empty()) continue;
    const Judge judge(record, date);
    on.verdict = judge.weather();
    count.add(date);
    if (on.verdict == Verdict::met) {
      count_met(history, date);
      continue;
    }
    if (on.verdict == Verdict::unknown) ++history.unknown;
    for (std::size_t i = 0; i < gained.size(); ++i)
      if (record.limits()[i].limit().kind != Kind::preference && judge.is_met_without(i)) ++gained[i];
  }
  history.hours_lost = count.lost();
  history.never_together = count.never_together();
  const auto most = std::max_element(gained.begin(), gained.end());
  if (most != gained.end() && *most > 0) history.best_relaxation = {static_cast<std::size_t>(most - gained.begin()), *most};
  return history;
}

}  // namespace hakea::core
