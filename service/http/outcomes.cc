#include "service/http/outcomes.h"

#include <fmt/format.h>

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

void burn(json::object& fuel, LocalDate date) {
  fuel["age_years"] = 0;
  fuel["age_as_of"] = date_text(date);
  for (const char* name : {"load_t_ha", "height_m", "surface_score", "near_surface_score", "elevated_score", "elevated_height_m"})
    fuel.erase(name);
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
  const std::optional<Change> none;
  const auto entry = store.entry(EntryKind::unit, outcome.unit);
  if (!entry) return entry.errors();
  if (!*entry || (*entry)->is_withdrawn) return none;
  json::value feature = body_of(**entry);
  auto* whole = feature.if_object();
  auto* member = whole ? whole->if_contains("properties") : nullptr;
  auto* properties = member ? member->if_object() : nullptr;
  if (!properties) return none;
  const std::string before = json_text(feature);
  auto* known = properties->if_contains("fuel");
  auto* fuel = known ? known->if_object() : nullptr;
  if (fuel)
    if (const auto burnt = parse_date(text_member(*known, "age_as_of")); burnt && *burnt > outcome.date) return none;
  if (fuel && is_fuel_burnt(outcome)) burn(*fuel, outcome.date);
  // Last, for a new member may move the others.
  if (const std::string_view status = status_after(outcome.result); !status.empty())
    (*properties)["status"] = std::string(status);
  const std::string after = json_text(feature);
  if (after == before) return none;
  return std::optional(Change{EntryKind::unit, outcome.unit, after, (*entry)->revision, "outcome",
                              fmt::format("{} on {}", outcome.result, date_text(outcome.date))});
}

Result<std::optional<Change>> effect_of_closing(Store& store, const std::string& unit, LocalDate lit_on) {
  const auto entries = store.entries(EntryKind::outcome);
  if (!entries) return entries.errors();
  std::optional<Outcome> last;
  for (const Entry& entry : *entries) {
    Outcome outcome = outcome_in(body_of(entry));
    if (outcome.unit == unit && outcome.date >= lit_on && outcome.result != "not_lit" && (!last || outcome.date >= last->date))
      last = std::move(outcome);
  }
  if (!last) return std::optional<Change>();
  return effect_on_unit(store, *last);
}

}  // namespace hakea::service
