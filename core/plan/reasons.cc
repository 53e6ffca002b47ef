// The words for a broken rule.
#include <algorithm>

#include "core/days/explain.h"
#include "core/plan/rules.h"

namespace hakea::core {
namespace {

std::string counted(std::int64_t n, std::string_view one, std::string_view more) {
  return std::to_string(n) + " " + std::string(n == 1 ? one : more);
}

std::string things(LossKind kind, std::int64_t n) {
  switch (kind) {
    case LossKind::tankers: return counted(n, "tanker", "tankers");
    case LossKind::aircraft: return counted(n, "aircraft", "aircraft");
    case LossKind::plant: return counted(n, "machine", "machines");
    default: return counted(n, "crew", "crews");
  }
}

std::string hectares(std::int64_t parts) { return in_words(static_cast<double>(parts) / kAreaParts) + " ha"; }

// Who has it: "Log Landing Heaps 1, Sawpit Ridge 2", by name, what is committed first.
struct Takers {
  std::string names;
  std::int64_t sum = 0;
};

Takers takers(const Book& book, const Rule& rule, const std::vector<std::uint8_t>& chosen, bool with_amounts) {
  Takers all;
  const auto add = [&](const PlannedUnit& unit, std::int64_t amount) {
    all.sum += amount;
    all.names += (all.names.empty() ? "" : ", ") + unit.name;
    if (with_amounts) all.names += " " + (rule.is_area ? hectares(amount) : std::to_string(amount));
  };
  for (const auto& [c, amount] : rule.already) add(*book.units[book.commitments[c].unit], amount);
  for (const ProgramTerm& term : rule.row.terms) {
    const auto pair = static_cast<std::size_t>(term.variable);
    if (chosen[pair] && term.factor > 0) add(book.unit_of(book.pairs[pair]), term.factor);
  }
  return all;
}

std::string in_brackets(const std::string& text) { return text.empty() ? "" : " (" + text + ")"; }

std::string clock_in_words(const TimeZone& zone, UtcTime time) {
  const auto minutes = std::chrono::floor<std::chrono::minutes>(zone.local(time) - LocalTime(zone.date(time).time_since_epoch()));
  const auto two = [](long n) { return (n < 10 ? "0" : "") + std::to_string(n); };
  return two(minutes.count() / 60) + ":" + two(minutes.count() % 60);
}

std::int64_t factor_of(const Rule& rule, std::size_t pair) {
  const auto at = std::find_if(rule.row.terms.begin(), rule.row.terms.end(),
                               [&](const ProgramTerm& t) { return static_cast<std::size_t>(t.variable) == pair; });
  return at == rule.row.terms.end() ? 0 : at->factor;
}

std::string why_too_few(const Book& book, const Rule& rule, std::size_t p, const std::vector<std::uint8_t>& chosen) {
  const PossibleBurn& pair = book.pairs[p];
  const bool is_sent = rule.kind == LossKind::crews || rule.kind == LossKind::tankers || rule.kind == LossKind::plant;
  if (is_sent && pair.reach.none() && burn_dates(book.unit_of(pair), pair.date).burns_on(rule.date))
    return "none of the " + things(rule.kind, 2).substr(2) + " can be there by " +
           clock_in_words(*book.unit_of(pair).zone, pair.window->latest_light_up) + ", the latest to light up";
  const Takers taken = takers(book, rule, chosen, true);
  std::string text = things(rule.kind, factor_of(rule, p)) + " needed on " + date_in_words(rule.date);
  if (burn_dates(book.unit_of(pair), pair.date).is_patrolled_on(rule.date)) text += " for patrol";
  const std::int64_t left = std::max<std::int64_t>(rule.whole - taken.sum, 0);
  if (rule.kind == LossKind::readiness) {
    const Readiness& readiness = book.question->means.readiness;
    const auto danger = readiness.danger.find(rule.date);
    const bool is_told = danger != readiness.danger.end() && !danger->second.empty();
    return text + ", " + std::to_string(left) + " left while " + std::to_string(readiness.free_crews) +
           " stay free for wildfire: " + (is_told ? danger->second : "the danger is unknown") + in_brackets(taken.names);
  }
  text += ", " + std::to_string(left) + " of " + std::to_string(rule.whole) + " left";
  if (!rule.of.empty()) text += " that can be there in time from " + rule.of;
  return text + in_brackets(taken.names);
}

std::string why_too_much_smoke(const Book& book, const Rule& rule, std::size_t p, const std::vector<std::uint8_t>& chosen) {
  const std::string cap = rule.of + " takes " + (rule.is_area ? hectares(rule.whole) : counted(rule.whole, "burn", "burns")) +
                          " on " + date_in_words(rule.date);
  if (rule.is_area && !book.unit_of(book.pairs[p]).area_ha) return cap + ", and its area is not known";
  const Takers taken = takers(book, rule, chosen, rule.is_area);
  if (!rule.is_area) return cap + in_brackets(taken.names);
  const std::int64_t left = std::max<std::int64_t>(rule.whole - taken.sum, 0);
  return cap + ", " + hectares(factor_of(rule, p)) + " needed, " + hectares(left) + " left" + in_brackets(taken.names);
}

// The burn that stands in the way: "Emu Track is proposed on Thursday 1 April".
std::string what_stands(const Book& book, const Rule& rule, std::size_t p, const std::vector<std::uint8_t>& chosen, bool named) {
  const auto told = [&](const PlannedUnit& unit, std::string_view state, LocalDate date) {
    return (named ? unit.name + " is " : std::string()) + std::string(state) + date_in_words(date);
  };
  for (const auto& [c, ignored] : rule.already)
    if (const Committed& burn = book.commitments[c]; !named || burn.unit != book.pairs[p].unit)
      return told(*book.units[burn.unit], burn.is_open ? "an open burn, lit on " : "committed on ", burn.date);
  for (const ProgramTerm& term : rule.row.terms)
    if (const auto other = static_cast<std::size_t>(term.variable);
        chosen[other] && named == (book.pairs[other].unit != book.pairs[p].unit))
      return told(book.unit_of(book.pairs[other]), "proposed on ", book.pairs[other].date);
  return "";
}

std::string why_out_of_order(const Book& book, const Rule& rule, std::size_t p, const std::vector<std::uint8_t>& chosen) {
  const auto before = std::find_if(book.units.begin(), book.units.end(), [&](const auto* unit) { return unit->id == rule.of; });
  const std::string name = before == book.units.end() ? rule.of : (*before)->name, wait = counted(rule.whole, "day", "days");
  // The pair may be the one that waits, or the one that another waits for.
  if (book.unit_of(book.pairs[p]).id != rule.of) return name + " has to be lit at least " + wait + " before";
  std::string waits;
  for (const auto& [c, ignored] : rule.already) waits = book.units[book.commitments[c].unit]->name;
  for (const ProgramTerm& term : rule.row.terms)
    if (const auto other = static_cast<std::size_t>(term.variable);
        chosen[other] && book.unit_of(book.pairs[other]).id != rule.of)
      waits = book.unit_of(book.pairs[other]).name;
  return waits + ", on " + date_in_words(rule.date) + ", has to come at least " + wait + " after it was lit";
}

}  // namespace

std::string_view word(LossKind kind) {
  switch (kind) {
    case LossKind::verdict: return "verdict";
    case LossKind::blocked: return "blocked";
    case LossKind::notice: return "notice";
    case LossKind::left_out: return "left_out";
    case LossKind::crews: return "crews";
    case LossKind::tankers: return "tankers";
    case LossKind::aircraft: return "aircraft";
    case LossKind::airshed: return "airshed";
    case LossKind::adjacency: return "adjacency";
    case LossKind::order: return "order";
    case LossKind::readiness: return "readiness";
    case LossKind::plant: return "plant";
    case LossKind::displaced: return "displaced";
  }
  return "";
}

std::string why_broken(const Book& book, const Rule& rule, std::size_t pair, const std::vector<std::uint8_t>& chosen) {
  switch (rule.kind) {
    case LossKind::airshed: return why_too_much_smoke(book, rule, pair, chosen);
    case LossKind::adjacency:
      return rule.of.empty()
                 ? "lies beside a unit not to be lit in the same season: " + what_stands(book, rule, pair, chosen, true)
                 : rule.of;
    case LossKind::order: return why_out_of_order(book, rule, pair, chosen);
    case LossKind::displaced: return "would displace its burn " + what_stands(book, rule, pair, chosen, false);
    default: return why_too_few(book, rule, pair, chosen);
  }
}

}  // namespace hakea::core
