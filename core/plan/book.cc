#include "core/plan/book.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <tuple>

#include "core/days/explain.h"

namespace hakea::core {
namespace {

using std::chrono::days;

// Priorities of 1 to 5.
constexpr int kLowestPriority = 5;
constexpr double kShares = 10'000;
// With more depots than these each burn has what its own depot has: the ways to lend are too many to look through.
constexpr std::size_t kMostThatLend = 12;

std::chrono::seconds to_the_second(double hours) { return std::chrono::seconds(std::llround(hours * 3600)); }

// The first of what has been judged of a day, in the order of LossKind.
std::optional<LostPair> barred_by_itself(const PlannedUnit& unit, const Day& day, bool is_left_out) {
  const auto lost = [&](LossKind kind, std::string text) { return LostPair{unit.id, day.date, kind, std::move(text)}; };
  if (day.weather != Verdict::met) {
    const std::string verdict = day.weather == Verdict::near_miss ? "near miss" : std::string(word(day.weather));
    return lost(LossKind::verdict, day.why.empty() ? verdict : verdict + ": " + day.why);
  }
  if (day.draft) return lost(LossKind::blocked, "its prescription has not been confirmed");
  const Blocked* late = nullptr;
  for (const Blocked& by : day.blocked_by) {
    // These two are looked at together with what is committed and proposed.
    if (by.kind == "after" || by.kind == "adjacent") continue;
    if (by.kind == "notice")
      late = &by;
    else
      return lost(LossKind::blocked, by.why.empty() ? by.kind : by.why);
  }
  if (late) return lost(LossKind::notice, late->why.empty() ? "notice was not given in time" : late->why);
  if (is_left_out) return lost(LossKind::left_out, "asked to be left out");
  return std::nullopt;
}

Depots in_reach(const Book& book, const PlannedUnit& unit, LocalDate date, const Window& window) {
  Depots reach;
  for (std::size_t d = 0; d < book.depots.size(); ++d) {
    const bool is_lent = !unit.needs.depot.empty() && book.depots[d].id != unit.needs.depot;
    if (is_lent && book.depots.size() > kMostThatLend) continue;
    const auto earliest = earliest_light_up(book, unit, date, book.depots[d]);
    reach[d] = earliest && *earliest <= window.latest_light_up;
  }
  return reach;
}

// The best-fitting window that what its own depot sends reaches in time, else the best-fitting one.
PossibleBurn pair_of(const Book& book, std::size_t u, const Day& day) {
  const PlannedUnit& unit = *book.units[u];
  PossibleBurn best;
  bool is_best_reached = false;
  for (const Window& window : day.windows) {
    if (window.unconfirmed) continue;
    const Depots reach = in_reach(book, unit, day.date, window);
    bool is_reached = unit.needs.depot.empty() && reach.any();
    for (std::size_t d = 0; d < book.depots.size(); ++d) is_reached |= reach[d] && book.depots[d].id == unit.needs.depot;
    if (best.window && (is_reached == is_best_reached ? window.fit <= best.window->fit : is_best_reached)) continue;
    best = {.unit = u, .date = day.date, .window = &window, .value = 0, .reach = reach};
    is_best_reached = is_reached;
  }
  if (best.window) best.value = burn_value(unit.plan->priority, best.window->fit, unit.rarity);
  return best;
}

Error unknown(const char* code, const UnitDate& pair, const std::string& what) {
  return {ErrorKind::not_found, code, pair.unit, pair.unit + what,
          "name a unit of the district and a date that it has a day for"};
}

}  // namespace

std::int64_t burn_value(int priority, double fit, double rarity) {
  const int weight = kLowestPriority + 1 - std::clamp(priority, 1, kLowestPriority);
  return std::max<std::int64_t>(1, std::llround(kShares * weight * std::clamp(fit, 0.0, 1.0) * std::clamp(rarity, 0.0, 1.0)));
}

Depots Book::all_depots() const {
  Depots all;
  for (std::size_t d = 0; d < depots.size(); ++d) all.set(d);
  return all;
}

std::optional<UtcTime> earliest_light_up(const Book& book, const PlannedUnit& unit, LocalDate date, const Depot& from) {
  double travel_h = unit.needs.travel_h;
  if (!unit.needs.depot.empty() && from.id != unit.needs.depot) {
    const auto own =
        std::find_if(book.depots.begin(), book.depots.end(), [&](const Depot& d) { return d.id == unit.needs.depot; });
    if (own == book.depots.end() || !own->place || !from.place) return std::nullopt;
    travel_h += great_circle_km(*from.place, *own->place) / kRoad_kmh;
  }
  const UtcTime leaves = std::max(unit.zone->instant(date, book.question->means.crews_from), book.question->now);
  return leaves + to_the_second(travel_h + kBriefing_h);
}

BurnDates burn_dates(const PlannedUnit& unit, LocalDate first) {
  const LocalDate last_burn = first + days(std::max(unit.consecutive_days, 1) - 1);
  return {first, last_burn, last_burn + days(unit.needs.patrol_crews > 0 ? unit.needs.patrol_days : 0)};
}

BurnDates burn_dates(const Book& book, const Committed& commitment) {
  const PlannedUnit& unit = *book.units[commitment.unit];
  BurnDates dates = burn_dates(unit, commitment.date);
  if (commitment.is_open && unit.zone->date(book.question->now) > dates.last_patrol) dates.last_patrol = LocalDate::max();
  return dates;
}

Result<Book> put_in_order(const PlanQuestion& question) {
  Errors mistakes;
  Book book;
  book.question = &question;
  for (const PlannedUnit& unit : question.units) book.units.push_back(&unit);
  std::sort(book.units.begin(), book.units.end(), [](const auto* a, const auto* b) { return a->id < b->id; });
  book.depots = question.means.depots;
  std::sort(book.depots.begin(), book.depots.end(), [](const Depot& a, const Depot& b) { return a.id < b.id; });
  if (book.depots.size() > kMostDepots)
    return Error{ErrorKind::unsupported, "too_many_depots", "depots",
                 "a plan with " + std::to_string(book.depots.size()) + " depots is not supported",
                 "plan a district of at most " + std::to_string(kMostDepots) + " depots"};

  const auto index_of = [&](const std::string& id) -> std::optional<std::size_t> {
    const auto at =
        std::lower_bound(book.units.begin(), book.units.end(), id, [](const auto* u, const auto& i) { return u->id < i; });
    if (at == book.units.end() || (*at)->id != id) return std::nullopt;
    return static_cast<std::size_t>(at - book.units.begin());
  };
  std::set<UnitDate> committed;
  for (const Commitment& c : question.commitments) {
    if (const auto u = index_of(c.unit)) {
      book.commitments.push_back({*u, c.date, c.is_open});
      committed.insert({c.unit, c.date});
    } else {
      mistakes.push_back(unknown("unknown_unit", {c.unit, c.date}, " has a booking and is no unit of the question"));
    }
  }
  std::sort(book.commitments.begin(), book.commitments.end(), [](const Committed& a, const Committed& b) {
    return std::tuple(a.unit, a.date, a.is_open) < std::tuple(b.unit, b.date, b.is_open);
  });

  const std::set<UnitDate> with(question.with.begin(), question.with.end()),
      without(question.without.begin(), question.without.end());
  std::set<UnitDate> offered;
  for (std::size_t u = 0; u < book.units.size(); ++u) {
    const PlannedUnit& unit = *book.units[u];
    for (const Day* day : unit.days) {
      const UnitDate name{unit.id, day->date};
      if (day->date < question.from || day->date > question.to || committed.contains(name)) continue;
      offered.insert(name);
      if (auto barred = barred_by_itself(unit, *day, without.contains(name))) {
        book.barred.push_back(*std::move(barred));
        continue;
      }
      PossibleBurn pair = pair_of(book, u, *day);
      if (pair.window)
        book.pairs.push_back(pair);
      else
        book.barred.push_back({unit.id, day->date, LossKind::verdict, "no window of it is certain"});
    }
  }
  std::sort(book.pairs.begin(), book.pairs.end(),
            [](const PossibleBurn& a, const PossibleBurn& b) { return std::tuple(a.date, a.unit) < std::tuple(b.date, b.unit); });

  for (const auto* wanted : {&with, &without})
    for (const UnitDate& name : *wanted)
      if (!offered.contains(name))
        mistakes.push_back(
            unknown("unknown_pair", name,
                    " has no day on " + date_in_words(name.date) + (committed.contains(name) ? " but a booking" : "")));
  for (const LostPair& lost : book.barred)
    if (with.contains({lost.unit, lost.date}))
      mistakes.push_back({ErrorKind::invalid, "cannot_hold", lost.unit,
                          lost.unit + " cannot be burnt on " + date_in_words(lost.date) + ": " + lost.text,
                          "leave it out of what has to be in the plan"});
  if (!mistakes.empty()) return mistakes;
  for (std::size_t p = 0; p < book.pairs.size(); ++p)
    if (with.contains({book.unit_of(book.pairs[p]).id, book.pairs[p].date})) book.with.push_back(p);
  return book;
}

}  // namespace hakea::core
