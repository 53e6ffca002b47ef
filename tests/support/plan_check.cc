#include "tests/support/plan_check.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <numbers>

namespace hakea::test {
namespace {

using namespace core;
using std::chrono::days;

// A burn as it stands in the calendar.
struct Stand {
  const PlannedUnit* unit = nullptr;
  LocalDate date{};
  enum class Kind { proposed, committed, open } kind = Kind::proposed;

  LocalDate last_burn() const { return date + days(unit->consecutive_days - 1); }
  bool burns(LocalDate on) const { return date <= on && on <= last_burn(); }
  bool is_patrolled(LocalDate on, UtcTime now) const {
    const LocalDate until = last_burn() + days(unit->needs.patrol_days);
    const bool is_overdue = kind == Kind::open && unit->zone->date(now) > (unit->needs.patrol_crews > 0 ? until : last_burn());
    return on > last_burn() && (on <= until || is_overdue);
  }
};

const PlannedUnit& unit_of(const PlanQuestion& q, const std::string& id) {
  return *std::find_if(q.units.begin(), q.units.end(), [&](const PlannedUnit& u) { return u.id == id; });
}

const Day& day_of(const PlannedUnit& unit, LocalDate date) {
  const auto at = std::find_if(unit.days.begin(), unit.days.end(), [&](const Day* day) { return day->date == date; });
  HAKEA_EXPECT(at != unit.days.end());
  return **at;
}

double km(DepotPlace a, DepotPlace b) {  // by the angle between two vectors
  const double d = std::numbers::pi / 180;
  const auto vector = [&](DepotPlace p) {
    return std::array{std::cos(p.latitude_deg * d) * std::cos(p.longitude_deg * d),
                      std::cos(p.latitude_deg * d) * std::sin(p.longitude_deg * d), std::sin(p.latitude_deg * d)};
  };
  const auto x = vector(a), y = vector(b);
  return 6371 * std::acos(std::min(1.0, x[0] * y[0] + x[1] * y[1] + x[2] * y[2]));
}

// Whether what the depot sends is there, briefed, by the latest time to light up.
bool is_in_time(const PlanQuestion& q, const Stand& burn, const Depot& depot) {
  double h = burn.unit->needs.travel_h + 1;
  const std::string& own = burn.unit->needs.depot;
  if (!own.empty() && own != depot.id) {
    const auto at = std::find_if(q.means.depots.begin(), q.means.depots.end(), [&](const Depot& d) { return d.id == own; });
    if (at == q.means.depots.end() || !at->place || !depot.place) return false;
    h += km(*depot.place, *at->place) / 60;
  }
  const UtcTime begins = std::max(q.now, burn.unit->zone->instant(burn.date, q.means.crews_from));
  const UtcTime latest = day_of(*burn.unit, burn.date).windows.front().latest_light_up;
  return static_cast<double>((latest - begins).count()) / 3600 >= h - 1e-3;
}

// Whether depots can send each burn what it needs, each unit of it from a depot that is in time; what may come from anywhere
// gets what is left. Tried way by way.
bool can_send(std::vector<int> have, const std::vector<std::pair<int, std::vector<bool>>>& wanted, int from_anywhere,
              std::size_t at = 0, int sent = 0, std::size_t depot = 0) {
  if (at == wanted.size()) {
    int left = 0;
    for (const int n : have) left += n;
    return left >= from_anywhere;
  }
  if (sent == wanted[at].first) return can_send(have, wanted, from_anywhere, at + 1, 0, 0);
  if (depot == have.size()) return false;
  const int most = wanted[at].second[depot] ? std::min(have[depot], wanted[at].first - sent) : 0;
  for (int n = most; n >= 0; --n) {
    std::vector<int> left = have;
    left[depot] -= n;
    if (can_send(std::move(left), wanted, from_anywhere, at, sent + n, depot + 1)) return true;
  }
  return false;
}

bool are_neighbours(const PlannedUnit& a, const PlannedUnit& b) {
  const auto names = [](const PlannedUnit& u, const PlannedUnit& v) {
    return std::find(u.plan->adjacent.begin(), u.plan->adjacent.end(), v.id) != u.plan->adjacent.end();
  };
  return a.id != b.id && (names(a, b) || names(b, a));
}

}  // namespace

std::set<LossKind> broken_by(const PlanQuestion& q, const std::vector<UnitDate>& burns) {
  std::set<LossKind> broken;
  std::vector<Stand> proposed, all;
  for (const UnitDate& burn : burns) proposed.push_back({&unit_of(q, burn.unit), burn.date, Stand::Kind::proposed});
  all = proposed;
  for (const Commitment& c : q.commitments)
    all.push_back({&unit_of(q, c.unit), c.date, c.is_open ? Stand::Kind::open : Stand::Kind::committed});

  for (const Stand& burn : proposed) {
    const Day& day = day_of(*burn.unit, burn.date);
    if (day.weather != Verdict::met) broken.insert(LossKind::verdict);
    if (day.draft) broken.insert(LossKind::blocked);
    for (const Blocked& by : day.blocked_by) {
      if (by.kind == "notice")
        broken.insert(LossKind::notice);
      else if (by.kind == "adjacent")
        broken.insert(LossKind::adjacency);
      else if (by.kind != "after")
        broken.insert(LossKind::blocked);
    }
    for (const UnitDate& out : q.without)
      if (out.unit == burn.unit->id && out.date == burn.date) broken.insert(LossKind::left_out);
    if (broken.contains(LossKind::verdict)) return broken;
  }

  for (LocalDate on = q.from; on <= q.to + days(10); on += days(1)) {
    const auto sum = [&](const std::vector<Stand>& of, auto&& amount) {
      double total = 0;
      for (const Stand& burn : of) total += amount(burn);
      return total;
    };
    // Somebody proposed asks for some of it, and with what is committed that is too much.
    const auto exceeds = [&](auto&& amount, double cap) { return sum(proposed, amount) > 0 && sum(all, amount) > cap + 1e-6; };
    const auto crews = [&](const Stand& b) {
      return b.burns(on) ? b.unit->needs.crews : b.is_patrolled(on, q.now) ? b.unit->needs.patrol_crews : 0;
    };
    const auto check_depots = [&](LossKind kind, int Depot::*has, int Needs::*need, bool patrols) {
      std::vector<int> have;
      for (const Depot& d : q.means.depots) have.push_back(d.*has);
      std::vector<std::pair<int, std::vector<bool>>> wanted;
      int anywhere = 0, asked = 0;
      for (const Stand& b : all) {
        const int n = b.burns(on) ? b.unit->needs.*need : patrols && b.is_patrolled(on, q.now) ? b.unit->needs.patrol_crews : 0;
        if (b.kind == Stand::Kind::proposed) asked += n;
        if (b.kind != Stand::Kind::proposed || !b.burns(on)) {
          anywhere += n;
        } else if (n > 0) {
          std::vector<bool> in_time;
          for (const Depot& d : q.means.depots) in_time.push_back(is_in_time(q, b, d));
          wanted.emplace_back(n, in_time);
        }
      }
      if (asked > 0 && !can_send(have, wanted, anywhere)) broken.insert(kind);
    };
    check_depots(LossKind::crews, &Depot::crews, &Needs::crews, true);
    check_depots(LossKind::tankers, &Depot::tankers, &Needs::tankers, false);
    check_depots(LossKind::plant, &Depot::plant, &Needs::plant, false);
    if (exceeds([&](const Stand& b) { return b.burns(on) ? b.unit->needs.aircraft : 0; }, q.means.aircraft))
      broken.insert(LossKind::aircraft);
    for (const Airshed& shed : q.means.airsheds) {
      const auto is_in = [&](const Stand& b) { return b.burns(on) && b.unit->airshed == shed.id; };
      if (shed.burns_per_day && exceeds([&](const Stand& b) { return is_in(b) ? 1 : 0; }, *shed.burns_per_day))
        broken.insert(LossKind::airshed);
      if (shed.area_ha_per_day &&
          exceeds([&](const Stand& b) { return is_in(b) ? b.unit->area_ha.value_or(1e9) : 0; }, *shed.area_ha_per_day))
        broken.insert(LossKind::airshed);
    }
    const auto quiet = q.means.readiness.quiet.find(on);
    const bool is_quiet = quiet != q.means.readiness.quiet.end() && quiet->second == Fit::in;
    double have = 0;
    for (const Depot& d : q.means.depots) have += d.crews;
    if (!is_quiet && q.means.readiness.free_crews > 0 && exceeds(crews, have - q.means.readiness.free_crews))
      broken.insert(LossKind::readiness);
  }

  for (const Stand& burn : proposed)
    for (const Stand& other : all) {
      if (other.unit == burn.unit && other.kind != Stand::Kind::open &&
          (other.date != burn.date || other.kind == Stand::Kind::committed))
        broken.insert(LossKind::displaced);
      if (are_neighbours(*burn.unit, *other.unit)) broken.insert(LossKind::adjacency);
    }

  // Order. A proposed burn that waits for another finds it lit long enough before, and not since; a committed one does not
  // find it lit by a proposal since.
  for (const Stand& waits : all) {
    if (waits.kind == Stand::Kind::open) continue;
    for (const auto& [id, wait] : waits.unit->plan->after) {
      bool is_before = false, is_since = false;
      const auto see = [&](LocalDate lit, bool is_proposed) {
        if (lit > waits.date || (waits.kind == Stand::Kind::committed && !is_proposed)) return;
        (lit + days(wait) <= waits.date ? is_before : is_since) = true;
      };
      for (const LitUnit& l : waits.unit->plan->lit)
        if (l.unit == id) see(l.lit_on, false);
      for (const Stand& other : all)
        if (other.unit->id == id) see(other.date, other.kind == Stand::Kind::proposed);
      if (is_since || (!is_before && waits.kind == Stand::Kind::proposed)) broken.insert(LossKind::order);
    }
  }
  return broken;
}

std::int64_t value_of(const PlanQuestion& q, const std::vector<UnitDate>& burns) {
  std::int64_t value = 0;
  for (const UnitDate& burn : burns) {
    const PlannedUnit& unit = unit_of(q, burn.unit);
    value += burn_value(unit.plan->priority, day_of(unit, burn.date).fit.value_or(0), unit.rarity);
  }
  return value;
}

std::int64_t best_by_trying(const PlanQuestion& q) {
  std::int64_t best = 0;
  std::vector<UnitDate> burns;
  const std::function<void(std::size_t)> decide = [&](std::size_t u) {
    if (u == q.units.size()) {
      if (const std::int64_t value = value_of(q, burns); value > best && broken_by(q, burns).empty()) best = value;
      return;
    }
    decide(u + 1);
    for (const Day* day : q.units[u].days) {
      if (day->date < q.from || day->date > q.to || day->weather != Verdict::met) continue;
      burns.push_back({q.units[u].id, day->date});
      decide(u + 1);
      burns.pop_back();
    }
  };
  decide(0);
  return best;
}

Result<ProgramAnswer> try_every_choice(const Program& program) {
  HAKEA_EXPECT(program.values.size() <= 16);
  ProgramAnswer best;
  best.is_possible = false;
  for (std::uint32_t bits = 0; bits < 1u << program.values.size(); ++bits) {
    const auto sum_of = [&](const std::vector<ProgramTerm>& terms) {
      std::int64_t sum = 0;
      for (const ProgramTerm& t : terms) sum += (bits >> t.variable) & 1 ? t.factor : 0;
      return sum;
    };
    if (std::any_of(program.rows.begin(), program.rows.end(),
                    [&](const ProgramRow& row) { return sum_of(row.terms) > row.most; }))
      continue;
    std::int64_t value = 0;
    std::vector<std::uint8_t> chosen;
    for (std::size_t v = 0; v < program.values.size(); ++v) {
      chosen.push_back((bits >> v) & 1);
      value += chosen.back() ? program.values[v] : 0;
    }
    if (!best.is_possible || value > best.bound) best = {true, chosen, value, true};
  }
  return best;
}

}  // namespace hakea::test
