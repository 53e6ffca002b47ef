#include "service/http/outcomes.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "service/http/entries.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

std::string_view status_after(std::string_view result) {
  return result == "treated" ? "treated" : result == "part_burnt" ? "part_burnt" : result == "escaped" ? "not_ready" : "";
}

// Whether the unit as a whole has burnt: an escaped burn counts where an area of it was treated.
bool is_fuel_burnt(const Outcome& outcome) {
  return outcome.result == "treated" || (outcome.result == "escaped" && outcome.treated_ha.value_or(0) > 0);
}

constexpr std::string_view kAction = "outcome";  // of a change of a unit, in the audit

// What a fire takes of what was known of the fuel.
constexpr std::array<std::string_view, 6> kOfFuelThatBurnt{"load_t_ha",          "height_m",       "surface_score",
                                                           "near_surface_score", "elevated_score", "elevated_height_m"};

void burn(json::object& fuel, LocalDate date) {
  fuel["age_years"] = 0;
  fuel["age_as_of"] = date_text(date);
  for (const std::string_view name : kOfFuelThatBurnt) fuel.erase(name);
}

json::object* member_object(json::object* whole, std::string_view name) {
  auto* member = whole ? whole->if_contains(name) : nullptr;
  return member ? member->if_object() : nullptr;
}
json::object* properties_of(json::value& feature) { return member_object(feature.if_object(), "properties"); }

// When a fuel last burnt, by its age on a date: what an outcome writes, and how people describe an old fuel.
std::optional<LocalDate> burnt_on(const json::object& fuel) {
  constexpr double kDaysInYear = 365.25;
  const json::value *as_of = fuel.if_contains("age_as_of"), *age = fuel.if_contains("age_years");
  const auto date = as_of && as_of->is_string() ? parse_date(std::string_view(as_of->get_string())) : std::nullopt;
  if (!date || !age || !age->is_number()) return std::nullopt;
  return *date - std::chrono::days(std::llround(age->to_number<double>() * kDaysInYear));
}

// Makes of a unit what an outcome makes of it.
void apply(const Outcome& outcome, json::object& properties) {
  json::object* fuel = member_object(&properties, "fuel");
  if (fuel)
    if (const auto burnt = burnt_on(*fuel); burnt && *burnt > outcome.date) return;
  if (fuel && is_fuel_burnt(outcome)) burn(*fuel, outcome.date);
  // Last, for a new member may move the others.
  if (const std::string_view status = status_after(outcome.result); !status.empty()) properties["status"] = std::string(status);
}

// Of the outcomes of a unit, those that `counts`, in the order of their dates.
template <class Counts>
Result<std::vector<Outcome>> outcomes_of(Store& store, const std::string& unit, Counts&& counts) {
  const auto entries = store.entries(EntryKind::outcome);
  if (!entries) return entries.errors();
  std::vector<Outcome> outcomes;
  for (const Entry& entry : *entries)
    if (Outcome outcome = outcome_in(body_of(entry)); outcome.unit == unit && counts(entry, outcome))
      outcomes.push_back(std::move(outcome));
  std::stable_sort(outcomes.begin(), outcomes.end(), [](const Outcome& a, const Outcome& b) { return a.date < b.date; });
  return outcomes;
}

// A unit's entry and its feature; no feature where there is nothing to change.
struct Standing {
  Entry entry;
  json::value feature;
};
Result<std::optional<Standing>> standing(Store& store, const std::string& unit) {
  auto entry = store.entry(EntryKind::unit, unit);
  if (!entry) return entry.errors();
  if (!*entry || (*entry)->is_withdrawn) return std::optional<Standing>();
  Standing found{**std::move(entry), {}};
  found.feature = body_of(found.entry);
  if (!properties_of(found.feature)) return std::optional<Standing>();
  return std::optional(std::move(found));
}

std::optional<Change> change_of(const Standing& before, const json::value& after, std::string reason) {
  const std::string text = json_text(after);
  if (text == json_text(before.feature)) return std::nullopt;
  return Change{EntryKind::unit, before.entry.id, text, before.entry.revision, std::string(kAction), std::move(reason)};
}

std::string told(const Outcome& outcome) { return fmt::format("{} on {}", outcome.result, date_text(outcome.date)); }

// What outcomes change of a unit, each as text; what is not there is empty.
using Traces = std::map<std::string, std::string, std::less<>>;

// visit(where it stands or null, its name there, its name among the traces)
template <class Visit>
void each_trace(json::object& properties, Visit&& visit) {
  visit(&properties, "status", "status");
  json::object* fuel = member_object(&properties, "fuel");
  const auto of_fuel = [&](std::string_view name) { visit(fuel, name, fmt::format("fuel.{}", name)); };
  for (const std::string_view name : {"age_years", "age_as_of"}) of_fuel(name);
  for (const std::string_view name : kOfFuelThatBurnt) of_fuel(name);
}

Traces traces_in(json::value feature) {
  Traces traces;
  if (json::object* properties = properties_of(feature))
    each_trace(*properties, [&](const json::object* in, std::string_view name, std::string key) {
      const json::value* member = in ? in->if_contains(name) : nullptr;
      traces[std::move(key)] = member ? json_text(*member) : "";
    });
  return traces;
}

void put(const Traces& traces, json::object& properties) {
  each_trace(properties, [&](json::object* in, std::string_view name, const std::string& key) {
    if (!in) return;
    if (const std::string& text = traces.at(key); text.empty())
      in->erase(name);
    else if (auto value = parse_json(text, key))
      in->insert_or_assign(name, *std::move(value));
  });
}

// The latest date that the reason of a change by an outcome names.
std::optional<LocalDate> last_date_in(std::string_view reason) {
  constexpr std::size_t kLength = 10;  // 2027-03-29
  std::optional<LocalDate> last;
  for (std::size_t at = 0; at + kLength <= reason.size(); ++at)
    if (const auto date = parse_date(reason.substr(at, kLength))) last = std::max(last.value_or(*date), *date);
  return last;
}

// A unit as it would be without its outcomes.
struct WithoutOutcomes {
  Traces traces;
  // What people entered after an outcome counts instead of it: by name, the date of that outcome; LocalDate::max() where they
  // entered it after all outcomes.
  std::map<std::string, LocalDate, std::less<>> entered;
};

// Takes back what outcomes made of a unit, the newest change first.
Result<WithoutOutcomes> without_outcomes(Store& store, const std::string& unit, const Traces& today) {
  constexpr int kPage = 500;
  const std::string object = fmt::format("{}/{}", word(EntryKind::unit), unit);
  WithoutOutcomes found{today, {}};
  std::set<std::string> taken;
  for (std::int64_t before = 0;;) {
    const auto page = store.audit(before, kPage);
    if (!page) return page.errors();
    if (page->empty()) return found;
    for (const AuditRow& row : *page) {
      if (row.object != object || row.action != kAction) continue;
      const auto was = parse_json(row.before, object), became = parse_json(row.after, object);
      if (!was || !became) continue;
      const Traces old = traces_in(*was), made = traces_in(*became);
      if (old.empty() || made.empty()) continue;
      for (auto& [name, text] : found.traces) {
        if (old.at(name) == made.at(name) || found.entered.contains(name)) continue;
        if (text != made.at(name)) {
          found.entered[name] = taken.contains(name) ? last_date_in(row.reason).value_or(LocalDate::min()) : LocalDate::max();
        } else {
          text = old.at(name);
          taken.insert(name);
        }
      }
    }
    before = page->back().seq;
  }
}

}  // namespace

Outcome outcome_in(const json::value& body) {
  Outcome outcome{.unit = text_member(body, "unit"),
                  .date = parse_date(text_member(body, "date")).value_or(LocalDate{}),
                  .result = text_member(body, "result"),
                  .treated_ha = {}};
  const auto* object = body.if_object();
  if (const auto* area = object ? object->if_contains("treated_ha") : nullptr; area && area->is_number())
    outcome.treated_ha = area->to_number<double>();
  return outcome;
}

Result<std::optional<Change>> effect_on_unit(Store& store, const Outcome& outcome) {
  const auto before = standing(store, outcome.unit);
  if (!before) return before.errors();
  if (!*before) return std::optional<Change>();
  json::value after = (*before)->feature;
  apply(outcome, *properties_of(after));
  return change_of(**before, after, told(outcome));
}

Result<std::optional<Change>> effect_of_closing(Store& store, const std::string& unit, LocalDate lit_on) {
  const auto outcomes = outcomes_of(
      store, unit, [&](const Entry&, const Outcome& outcome) { return outcome.date >= lit_on && outcome.result != "not_lit"; });
  if (!outcomes) return outcomes.errors();
  const auto before = standing(store, unit);
  if (!before) return before.errors();
  if (!*before || outcomes->empty()) return std::optional<Change>();
  json::value after = (*before)->feature;
  for (const Outcome& outcome : *outcomes) apply(outcome, *properties_of(after));
  return change_of(**before, after, told(outcomes->back()));
}

Result<std::optional<Change>> effect_of_correcting(Store& store, const std::string& id, const Outcome& now,
                                                   std::optional<LocalDate> open_since) {
  const auto entry = store.entry(EntryKind::outcome, id);
  if (!entry) return entry.errors();
  const auto before = standing(store, now.unit);
  if (!before) return before.errors();
  if (!*entry || !*before) return std::optional<Change>();
  const Outcome was = outcome_in(body_of(**entry));

  const Traces today = traces_in((*before)->feature);
  const auto without = without_outcomes(store, now.unit, today);
  if (!without) return without.errors();
  auto outcomes = outcomes_of(store, now.unit, [&](const Entry& other, const Outcome&) { return other.id != id; });
  if (!outcomes) return outcomes.errors();
  outcomes->push_back(now);
  std::stable_sort(outcomes->begin(), outcomes->end(), [](const Outcome& a, const Outcome& b) { return a.date < b.date; });
  const auto by_outcomes_after = [&](LocalDate date) {
    json::value unit = (*before)->feature;
    put(without->traces, *properties_of(unit));
    for (const Outcome& outcome : *outcomes)
      if (outcome.date > date && (!open_since || outcome.date < *open_since || outcome.result == "part_burnt"))
        apply(outcome, *properties_of(unit));
    return traces_in(unit);
  };
  Traces made = by_outcomes_after(LocalDate::min());
  for (const auto& [name, date] : without->entered) made[name] = by_outcomes_after(date).at(name);
  if (made == today) return std::optional<Change>();
  json::value after = (*before)->feature;
  put(made, *properties_of(after));
  return change_of(**before, after, fmt::format("{}, corrected from {}", told(now), told(was)));
}

}  // namespace hakea::service
