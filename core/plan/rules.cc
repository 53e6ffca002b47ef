#include "core/plan/rules.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>

#include "core/days/blocked.h"

namespace hakea::core {
namespace {

using std::chrono::days;
using Amount = std::function<std::int64_t(const PlannedUnit&, const BurnDates&, LocalDate)>;

// What burns take on one date of something of which there is so much.
Rule taken_on(const Book& book, LossKind kind, LocalDate date, std::int64_t whole, const Amount& amount) {
  Rule rule;
  rule.kind = kind, rule.date = date, rule.whole = whole;
  for (std::size_t p = 0; p < book.pairs.size(); ++p) {
    const PlannedUnit& unit = book.unit_of(book.pairs[p]);
    if (const auto n = amount(unit, burn_dates(unit, book.pairs[p].date), date); n > 0)
      rule.row.terms.push_back({static_cast<std::int32_t>(p), n});
  }
  std::int64_t left = whole;
  for (std::size_t c = 0; c < book.commitments.size(); ++c) {
    const auto n = amount(*book.units[book.commitments[c].unit], burn_dates(book, book.commitments[c]), date);
    if (n <= 0) continue;
    rule.already.emplace_back(c, n);
    left -= n;
  }
  rule.row.most = std::max<std::int64_t>(left, 0);
  return rule;
}

void keep(std::vector<Rule>& rules, Rule&& rule) {
  if (!rule.row.terms.empty()) rules.push_back(std::move(rule));
}

// The dates on which something that can be proposed takes something.
std::vector<LocalDate> dates_of(const Book& book) {
  std::vector<LocalDate> dates;
  LocalDate last = book.question->from - days(1);
  for (const PossibleBurn& pair : book.pairs) last = std::max(last, burn_dates(book.unit_of(pair), pair.date).last_patrol);
  for (LocalDate date = book.question->from; date <= last; date += days(1)) dates.push_back(date);
  return dates;
}

// What a depot has and sends out.
struct FromDepots {
  LossKind kind;
  int Depot::*has;
  int Needs::*burn;
  bool is_patrol_too;
};
constexpr FromDepots kCrews{LossKind::crews, &Depot::crews, &Needs::crews, true};
constexpr FromDepots kTankers{LossKind::tankers, &Depot::tankers, &Needs::tankers, false};
constexpr FromDepots kPlant{LossKind::plant, &Depot::plant, &Needs::plant, false};

std::int64_t of_depots(const Book& book, const FromDepots& what, const Depots& which) {
  std::int64_t sum = 0;
  for (std::size_t d = 0; d < book.depots.size(); ++d) sum += which[d] ? book.depots[d].*what.has : 0;
  return sum;
}

Amount taken(const FromDepots& what) {
  return [what](const PlannedUnit& unit, const BurnDates& dates, LocalDate date) -> std::int64_t {
    if (dates.burns_on(date)) return unit.needs.*what.burn;
    return what.is_patrol_too && dates.is_patrolled_on(date) ? unit.needs.patrol_crews : 0;
  };
}

struct FewerDepots {
  bool operator()(const Depots& a, const Depots& b) const {
    return a.count() != b.count() ? a.count() < b.count() : a.to_ullong() < b.to_ullong();
  }
};

// Depots can share out what they have exactly when no set of them is asked for more than it has by burns that only it
// reaches (Gale 1957, A theorem on flows in networks, Pacific J. Math. 7, 1073-1082 [from memory]; Hall's condition). Only
// sets that burns tie together need a look: the others are sums of those. Patrols have the whole day, and what is
// committed has been arranged: every depot serves those.
void add_depot_rules(const Book& book, const FromDepots& what, std::vector<Rule>& rules) {
  const Depots all = book.all_depots();
  for (const LocalDate date : dates_of(book)) {
    std::vector<std::pair<std::size_t, std::int64_t>> burning;  // pair, how much
    std::set<Depots, FewerDepots> sets{all};
    for (std::size_t p = 0; p < book.pairs.size(); ++p) {
      const PlannedUnit& unit = book.unit_of(book.pairs[p]);
      if (unit.needs.*what.burn <= 0 || !burn_dates(unit, book.pairs[p].date).burns_on(date)) continue;
      burning.emplace_back(p, unit.needs.*what.burn);
      sets.insert(book.pairs[p].reach);
    }
    const std::vector<Depots> reaches(sets.begin(), sets.end());
    std::vector<Depots> open = reaches;
    while (!open.empty()) {
      const Depots one = open.back();
      open.pop_back();
      for (const Depots& other : reaches)
        if ((one & other).any() && sets.insert(one | other).second) open.push_back(one | other);
    }
    for (const Depots& set : sets) {
      if (set == all) continue;
      Rule rule;
      rule.kind = what.kind, rule.date = date;
      rule.row.most = rule.whole = of_depots(book, what, set);
      for (std::size_t d = 0; d < book.depots.size(); ++d)
        if (set[d]) rule.of += (rule.of.empty() ? "" : ", ") + book.depots[d].name;
      for (const auto& [pair, amount] : burning)
        if ((book.pairs[pair].reach & ~set).none()) rule.row.terms.push_back({static_cast<std::int32_t>(pair), amount});
      keep(rules, std::move(rule));
    }
    keep(rules, taken_on(book, what.kind, date, of_depots(book, what, all), taken(what)));
  }
}

void add_aircraft_rules(const Book& book, std::vector<Rule>& rules) {
  const Amount taken = [](const PlannedUnit& unit, const BurnDates& dates, LocalDate date) {
    return dates.burns_on(date) ? unit.needs.aircraft : 0;
  };
  for (const LocalDate date : dates_of(book))
    keep(rules, taken_on(book, LossKind::aircraft, date, book.question->means.aircraft, taken));
}

// Of a burn of several days nobody knows how much smokes on which: the whole of it on each.
void add_airshed_rules(const Book& book, std::vector<Rule>& rules) {
  std::vector<Airshed> airsheds = book.question->means.airsheds;
  std::sort(airsheds.begin(), airsheds.end(), [](const Airshed& a, const Airshed& b) { return a.id < b.id; });
  for (const LocalDate date : dates_of(book))
    for (const Airshed& airshed : airsheds) {
      const auto smokes = [&](const PlannedUnit& unit, const BurnDates& dates, LocalDate on) {
        return unit.airshed == airshed.id && dates.burns_on(on);
      };
      if (airshed.burns_per_day) {
        Rule rule = taken_on(book, LossKind::airshed, date, *airshed.burns_per_day, smokes);
        rule.of = airshed.name;
        keep(rules, std::move(rule));
      }
      if (airshed.area_ha_per_day) {
        // Half a hundredth of a part: what a decimal fraction loses as a double is no hectare.
        const double parts = kAreaParts, slack = 0.005;
        const auto cap = static_cast<std::int64_t>(std::floor(*airshed.area_ha_per_day * parts + slack));
        Rule rule = taken_on(book, LossKind::airshed, date, cap,
                             [&](const PlannedUnit& unit, const BurnDates& dates, LocalDate on) -> std::int64_t {
                               if (!smokes(unit, dates, on)) return 0;
                               if (!unit.area_ha) return cap + 1;
                               return static_cast<std::int64_t>(std::ceil(*unit.area_ha * parts - slack));
                             });
        rule.of = airshed.name;
        rule.is_area = true;
        keep(rules, std::move(rule));
      }
    }
}

bool is_committed(const Book& book, std::size_t unit, bool open_too) {
  return std::any_of(book.commitments.begin(), book.commitments.end(),
                     [&](const Committed& c) { return c.unit == unit && (open_too || !c.is_open); });
}

// One row for each two that lie side by side, whichever of them says so: at most one of them is lit. A neighbour that was lit
// before, as the days say, closes the date.
void add_adjacency_rules(const Book& book, std::vector<Rule>& rules) {
  std::map<std::string_view, std::size_t> index;
  for (std::size_t u = 0; u < book.units.size(); ++u) index.emplace(book.units[u]->id, u);
  std::set<std::pair<std::size_t, std::size_t>> neighbours;
  for (std::size_t u = 0; u < book.units.size(); ++u)
    for (const std::string& id : book.units[u]->plan->adjacent)
      if (const auto other = index.find(id); other != index.end() && other->second != u)
        neighbours.insert(std::minmax(u, other->second));
  for (const auto& [a, b] : neighbours) {
    const bool is_a = is_committed(book, a, true), is_b = is_committed(book, b, true);
    Rule rule;
    rule.kind = LossKind::adjacency, rule.is_between_units = true;
    rule.row.most = is_a || is_b ? 0 : 1;
    for (std::size_t p = 0; p < book.pairs.size(); ++p)
      if ((book.pairs[p].unit == a && (is_b || !is_a)) || (book.pairs[p].unit == b && (is_a || !is_b)))
        rule.row.terms.push_back({static_cast<std::int32_t>(p), 1});
    for (std::size_t c = 0; c < book.commitments.size(); ++c)
      if (book.commitments[c].unit == a || book.commitments[c].unit == b) rule.already.emplace_back(c, 1);
    keep(rules, std::move(rule));
  }
  for (std::size_t p = 0; p < book.pairs.size(); ++p)
    for (const Day* day : book.unit_of(book.pairs[p]).days)
      for (const Blocked& by : day->blocked_by)
        if (day->date == book.pairs[p].date && by.kind == "adjacent") {
          Rule rule;
          rule.kind = LossKind::adjacency, rule.date = day->date, rule.of = by.why;
          rule.row.terms.push_back({static_cast<std::int32_t>(p), 1});
          rules.push_back(std::move(rule));
        }
}

Rule order_rule(LocalDate date, const std::string& before, int wait) {
  Rule rule;
  rule.kind = LossKind::order, rule.date = date, rule.of = before, rule.whole = wait;
  return rule;
}

// The unit that goes before has been lit at least so many days ago, and not again since.
void add_order_rules(const Book& book, std::vector<Rule>& rules) {
  const auto lit_by = [&](const PlannedUnit& unit, const std::string& before, LocalDate by) {
    std::optional<LocalDate> lit = last_lit(*unit.plan, before, by);
    for (const Committed& c : book.commitments)
      if (book.units[c.unit]->id == before && c.date <= by && (!lit || c.date > *lit)) lit = c.date;
    return lit;
  };
  const auto proposed = [&](const std::string& before, auto&& is_wanted, std::int64_t factor, Rule& rule) {
    for (std::size_t q = 0; q < book.pairs.size(); ++q)
      if (book.unit_of(book.pairs[q]).id == before && is_wanted(book.pairs[q].date))
        rule.row.terms.push_back({static_cast<std::int32_t>(q), factor});
  };
  for (std::size_t p = 0; p < book.pairs.size(); ++p) {
    const PlannedUnit& unit = book.unit_of(book.pairs[p]);
    const LocalDate date = book.pairs[p].date;
    for (const auto& [before, wait] : unit.plan->after) {
      if (before == unit.id) continue;
      const LocalDate latest = date - days(wait);
      const auto lit = lit_by(unit, before, date);
      Rule lit_before = order_rule(date, before, wait), not_since = lit_before;
      lit_before.row.terms.push_back({static_cast<std::int32_t>(p), 1});
      not_since.row = {lit_before.row.terms, 1};
      not_since.is_between_units = true;
      if (!lit)
        proposed(
            before, [&](LocalDate d) { return d <= latest; }, -1, lit_before);
      if (!lit || *lit > latest) rules.push_back(std::move(lit_before));
      proposed(
          before, [&](LocalDate d) { return d > latest && d <= date; }, 1, not_since);
      if (not_since.row.terms.size() > 1) rules.push_back(std::move(not_since));
    }
  }
  // A committed burn that waits for another must not find that lit again in the meantime.
  for (std::size_t c = 0; c < book.commitments.size(); ++c) {
    const Committed& burn = book.commitments[c];
    if (burn.is_open) continue;
    for (const auto& [before, wait] : book.units[burn.unit]->plan->after) {
      Rule rule = order_rule(burn.date, before, wait);
      rule.already.emplace_back(c, 1);
      proposed(
          before, [&](LocalDate d) { return d > burn.date - days(wait) && d <= burn.date; }, 1, rule);
      keep(rules, std::move(rule));
    }
  }
}

void add_readiness_rules(const Book& book, std::vector<Rule>& rules) {
  const Readiness& readiness = book.question->means.readiness;
  if (readiness.free_crews <= 0) return;
  for (const LocalDate date : dates_of(book)) {
    const auto known = readiness.quiet.find(date);
    if (known != readiness.quiet.end() && known->second == Fit::in) continue;
    const std::int64_t crews = of_depots(book, kCrews, book.all_depots());
    Rule rule = taken_on(book, LossKind::readiness, date, crews - readiness.free_crews, taken(kCrews));
    keep(rules, std::move(rule));
  }
}

// A unit is burnt once in a plan; one that is committed is not proposed.
void add_once_rules(const Book& book, std::vector<Rule>& rules) {
  std::vector<Rule> by_unit(book.units.size());
  for (std::size_t p = 0; p < book.pairs.size(); ++p)
    by_unit[book.pairs[p].unit].row.terms.push_back({static_cast<std::int32_t>(p), 1});
  for (std::size_t u = 0; u < by_unit.size(); ++u) {
    by_unit[u].kind = LossKind::displaced;
    by_unit[u].row.most = is_committed(book, u, false) ? 0 : 1;
    for (std::size_t c = 0; c < book.commitments.size(); ++c)
      if (book.commitments[c].unit == u && !book.commitments[c].is_open) by_unit[u].already.emplace_back(c, 1);
    keep(rules, std::move(by_unit[u]));
  }
}

}  // namespace

std::vector<Rule> rules_of(const Book& book) {
  std::vector<Rule> rules;
  add_depot_rules(book, kCrews, rules);
  add_depot_rules(book, kTankers, rules);
  add_aircraft_rules(book, rules);
  add_airshed_rules(book, rules);
  add_adjacency_rules(book, rules);
  add_order_rules(book, rules);
  add_readiness_rules(book, rules);
  add_depot_rules(book, kPlant, rules);
  add_once_rules(book, rules);
  return rules;
}

}  // namespace hakea::core
