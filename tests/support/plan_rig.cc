#include "tests/support/plan_rig.h"

#include <algorithm>
#include <cmath>

namespace hakea::test {

using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

constexpr hours kAhead{10};
constexpr int kDatesAfter = 30;

// The same numbers from every library, unlike the distributions of the standard.
class Chance {
 public:
  explicit Chance(std::uint32_t seed) : engine_(seed) {}
  int below(int n) { return static_cast<int>(engine_() % static_cast<std::uint32_t>(n)); }
  bool one_in(int n) { return below(n) == 0; }
  int between(int low, int high) { return low + below(high - low + 1); }

 private:
  std::mt19937 engine_;
};

}  // namespace

LocalDate plan_date(int number) {
  using namespace std::chrono;
  return local_days(year(2027) / 4 / 1) + days(number);
}

UtcTime plan_time(int number, int clock_hour, int minute) {
  return UtcTime((plan_date(number) + hours(clock_hour) + minutes(minute)).time_since_epoch()) - kAhead;
}

PlanRig::PlanRig(int dates) : zone_(TimeZone::fixed("test", kAhead)) {
  question.now = plan_time(0, 6, 30);
  question.from = plan_date(0);
  question.to = plan_date(dates - 1);
}

core::PlannedUnit& PlanRig::unit(const std::string& id) {
  core::PlannedUnit& unit = question.units.emplace_back();
  unit.id = id;
  unit.name = "Unit " + id;
  unit.zone = &zone_;
  unit.plan = &plans_.emplace_back();
  unit.needs.crews = 1;
  if (!question.means.depots.empty()) unit.needs.depot = question.means.depots.front().id;
  unit.area_ha = 50;
  return unit;
}

core::PlannedUnit& PlanRig::find(const std::string& id) {
  return *std::find_if(question.units.begin(), question.units.end(), [&](const auto& u) { return u.id == id; });
}

core::UnitPlan& PlanRig::plan_of(const std::string& id) {
  return *std::find_if(plans_.begin(), plans_.end(), [&](const auto& p) { return &p == find(id).plan; });
}

core::Day& PlanRig::met(const std::string& id, int date, double fit, int latest) {
  core::Day& day = days_.emplace_back();
  day.date = plan_date(date);
  day.verdict = day.weather = core::Verdict::met;
  day.fit = fit;
  core::Window window;
  window.start = UtcHour::of(plan_time(date, 10));
  window.end = UtcHour::of(plan_time(date, latest + 3));
  window.latest_light_up = plan_time(date, latest);
  window.fit = fit;
  day.windows.push_back(window);
  find(id).days.push_back(&day);
  return day;
}

void PlanRig::depot(const std::string& id, int crews, int tankers, int plant) {
  question.means.depots.push_back(
      {.id = id, .name = "Depot " + id, .place = {}, .crews = crews, .tankers = tankers, .plant = plant});
}

void PlanRig::quiet(bool is_quiet) {
  for (int n = 0; question.from + days(n) <= question.to + days(kDatesAfter); ++n)
    question.means.readiness.quiet[plan_date(n)] = is_quiet ? core::Fit::in : core::Fit::out;
}

void PlanRig::commit(const std::string& id, int date, bool is_open) {
  question.commitments.push_back({id, plan_date(date), is_open});
}

void PlanRig::shuffle(std::uint32_t seed) {
  std::mt19937 engine(seed);
  const auto mix = [&](auto& list) {
    for (std::size_t i = list.size(); i > 1; --i) std::swap(list[i - 1], list[engine() % i]);
  };
  mix(question.units);
  mix(question.commitments);
  mix(question.means.depots);
  mix(question.means.airsheds);
  for (core::PlannedUnit& unit : question.units) mix(unit.days);
}

void fill_by_chance(PlanRig& rig, const PlanSize& size, std::uint32_t seed) {
  Chance chance(seed);
  core::Means& means = rig.question.means;
  // What there is, shared out by chance; half an hour to two hours from each other.
  const int crews = std::max(1, static_cast<int>(std::lround(size.units / size.scarcity)));
  for (int d = 0; d < size.depots; ++d) {
    rig.depot("d" + std::to_string(d), 0, 0, 0);
    if (!chance.one_in(6)) means.depots.back().place = {-37.0 - 0.4 * chance.below(4), 150.0 + 0.5 * chance.below(4)};
  }
  const auto share_out = [&](int core::Depot::*what, int n) {
    while (n-- > 0) ++(means.depots[static_cast<std::size_t>(chance.below(size.depots))].*what);
  };
  share_out(&core::Depot::crews, crews);
  share_out(&core::Depot::tankers, crews);
  share_out(&core::Depot::plant, std::max(1, crews / 6));
  means.aircraft = std::max(1, crews / 8);
  const int airsheds = 1 + size.units / 25;
  for (int a = 0; a < airsheds; ++a) {
    core::Airshed& airshed = means.airsheds.emplace_back();
    airshed.id = "a" + std::to_string(a);
    airshed.name = "Airshed " + std::to_string(a);
    if (!chance.one_in(5)) airshed.burns_per_day = chance.between(1, 3);
    if (!chance.one_in(4)) airshed.area_ha_per_day = chance.between(60, 250);
  }
  means.readiness.free_crews = chance.below(2 + crews / 4);
  for (int n = 0; n < size.dates + 3; ++n) {
    if (chance.one_in(6)) continue;  // unknown
    means.readiness.quiet[plan_date(n)] = chance.one_in(3) ? core::Fit::out : core::Fit::in;
  }

  const auto id_of = [](int u) { return (u < 10 ? "u00" : u < 100 ? "u0" : "u") + std::to_string(u); };
  for (int u = 0; u < size.units; ++u) {
    core::PlannedUnit& unit = rig.unit(id_of(u));
    core::UnitPlan& plan = rig.plan_of(unit.id);
    unit.needs = {.crews = chance.between(chance.one_in(10) ? 0 : 1, 3),
                  .tankers = chance.between(0, 2),
                  .aircraft = chance.one_in(4) ? 1 : 0,
                  .plant = chance.one_in(3) ? 1 : 0,
                  .depot = chance.one_in(12) ? "" : "d" + std::to_string(chance.below(size.depots)),
                  .travel_h = 0.5 * chance.below(4),
                  .patrol_crews = chance.one_in(4) ? 0 : 1,
                  .patrol_days = chance.below(4)};
    plan.priority = chance.between(1, 5);
    if (!chance.one_in(15))
      unit.area_ha = chance.between(5, 150) + 0.25 * chance.below(4);
    else
      unit.area_ha.reset();
    if (!chance.one_in(6)) unit.airshed = "a" + std::to_string(chance.below(airsheds));
    unit.rarity = 0.01 * chance.between(10, 99);
    unit.consecutive_days = chance.one_in(8) ? 2 : 1;
    if (u > 0 && chance.one_in(4)) plan.adjacent.push_back(id_of(chance.below(u)));
    if (u > 0 && chance.one_in(4)) {
      plan.after.emplace_back(id_of(chance.below(u)), chance.below(3));
      if (chance.one_in(2)) plan.lit.push_back({plan.after.back().first, plan_date(-chance.between(0, 3))});
    }
    for (int n = 0; n < size.dates; ++n) {
      if (chance.one_in(8)) continue;
      core::Day& day = rig.met(unit.id, n, 0.01 * chance.between(20, 100), chance.between(8, 15));
      if (chance.one_in(4)) {
        day.weather = day.verdict = chance.one_in(2) ? core::Verdict::out : core::Verdict::unknown;
        day.windows.clear();
      } else if (chance.one_in(12)) {
        static const std::vector<std::string> kinds{"declared_ban", "notice", "weekday", "adjacent", "after"};
        day.verdict = core::Verdict::blocked;
        day.blocked_by.push_back({.kind = kinds[static_cast<std::size_t>(chance.below(5))], .why = "a reason", .until = {}});
      }
    }
  }
  for (int u = 0; u < size.units; ++u) {
    if (chance.one_in(12))
      rig.commit(id_of(u), chance.below(size.dates));
    else if (chance.one_in(12))
      rig.commit(id_of(u), -chance.between(0, 3), true);
  }
}

}  // namespace hakea::test
