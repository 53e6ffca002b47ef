// The hours of a unit, or of several, as columns (JSON) or rows (CSV).
#include <fmt/format.h>

#include <algorithm>

#include "core/catalogue/catalogue.h"
#include "service/http/handlers.h"
#include "service/http/shown_hours.h"
#include "service/http/standing.h"
#include "service/input/config.h"
#include "service/output/hours_csv.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::size_t kUnitsAtMost = 200;  // of one answer

// Catalogue indices in the order asked for; all of them when none was.
std::vector<std::size_t> quantities_of(const Call& call, Errors& mistakes) {
  std::vector<std::size_t> chosen;
  for (const std::string& key : query_list(call, "quantities")) {
    if (const auto found = core::find_quantity(key)) {
      if (std::find(chosen.begin(), chosen.end(), *found) == chosen.end()) chosen.push_back(*found);  // each once
      continue;
    }
    mistakes.push_back(unknown_quantity("?quantities", key));
  }
  if (chosen.empty() && mistakes.empty())
    for (std::size_t q = 0; q < core::catalogue().size(); ++q) chosen.push_back(q);
  return chosen;
}

// Whether what is left out by default was asked for.
bool is_wanted(const Call& call, std::string_view name, std::string_view what, Errors& mistakes) {
  const std::string word = call.query(name).value_or("no");
  if (word != "yes" && word != "no")
    mistakes.push_back({ErrorKind::invalid, "unknown_word", fmt::format("?{}", name),
                        fmt::format("\"{}\" is neither yes nor no", word), fmt::format("write yes for {}", what)});
  return word == "yes";
}

// A time with its offset, or a local date of the unit: its beginning, or with `is_end` the end of it.
std::optional<UtcTime> time_of(const Call& call, std::string_view name, const TimeZone& zone, bool is_end, Errors& mistakes) {
  const auto text = call.query(name);
  if (!text) return std::nullopt;
  if (const auto date = parse_date(*text)) return zone.day_begin(is_end ? *date + std::chrono::days(1) : *date);
  const auto instant = parse_instant(*text);
  if (instant) return *instant;
  mistakes.push_back({ErrorKind::invalid, instant.error().code, fmt::format("?{}", name), instant.error().what,
                      instant.error().hint + "; or a date such as 2027-04-02"});
  return std::nullopt;
}

// Beside the raw values those without their measured errors, and the hours in which these would decide otherwise: the raw ones
// decide.
std::string corrected_json(const ShownHours& shown, const std::vector<std::size_t>& quantities) {
  JsonWriter out;
  if (!shown.corrected) return out.begin_object().null("corrected").end_object().str();
  const CorrectedHours& corrected = *shown.corrected;
  out.begin_object().key("corrected").begin_object().key("quantities").begin_object();
  for (std::size_t k = 0; k < corrected.quantities.size(); ++k) {
    const std::size_t q = corrected.quantities[k];
    if (std::find(quantities.begin(), quantities.end(), q) == quantities.end()) continue;
    out.key(core::catalogue()[q].key).begin_object().text("unit", core::catalogue()[q].unit).key("values").begin_list();
    for (std::size_t i = 0; i < shown.hours.hours; ++i) out.number(static_cast<double>(corrected.columns[k][i]));
    out.end_list().key("standard_deviation").begin_list();
    for (const double deviation : corrected.deviations[k]) out.number(deviation);
    out.end_list().end_object();
  }
  out.end_object();
  const auto where = [&](core::Fit raw, core::Fit without_bias) {
    return [&shown, &corrected, raw, without_bias](std::size_t i) {
      return shown.fit[i] == raw && corrected.fit[i] == without_bias;
    };
  };
  write_ranges(out, "would_be_in", shown.hours.hours, where(core::Fit::out, core::Fit::in));
  write_ranges(out, "would_be_out", shown.hours.hours, where(core::Fit::in, core::Fit::out));
  return out.end_object().end_object().str();
}

std::string hours_json(const UnitView& view, const ShownHours& shown, const std::vector<std::size_t>& quantities,
                       const VentilationTables& ventilation, bool with_limits, bool with_members) {
  JsonWriter head, hours, limits;
  head.begin_object().text("unit", view.unit.id).end_object();
  write_hours(hours, shown.hours, quantities, shown.fit, view.sampling, ventilation);
  std::string all = joined_objects(joined_objects(head.str(), hours.str()), corrected_json(shown, quantities));
  if (with_members) all = joined_objects(all, members_json(shown.members));
  if (!with_limits) return all;
  limits.begin_object();
  write_limit_fits(limits, view.unit.prescription, shown.limit_fits);
  return joined_objects(all, limits.end_object().str());
}

// The hours of units: in JSON a document a unit, in CSV rows.
Response answer_hours(const Call& call, const std::vector<const UnitView*>& units, bool is_list) {
  Errors mistakes;
  const std::vector<std::size_t> quantities = quantities_of(call, mistakes);
  const auto run = call.query("run");
  const VentilationTables& ventilation = call.parts.config ? call.parts.config->ventilation : built_in_ventilation();
  const bool is_local = call.query("tz") == "unit";
  if (is_local && call.type == "text/csv")
    mistakes.push_back({ErrorKind::invalid, "not_for_tables", "?tz", "a table's column is time_utc",
                        "leave tz out, or ask for application/json"});
  const bool with_limits = is_wanted(call, "limits", "the fit of each limit by hour", mistakes);
  const bool with_members = is_wanted(call, "members", "how far the members of an ensemble lie apart", mistakes);
  std::string json, csv = hours_csv_head(quantities);
  for (const UnitView* view : units) {
    const TimeZone& zone = view->unit.traits.zone;
    const auto from = time_of(call, "from", zone, false, mistakes), to = time_of(call, "to", zone, true, mistakes);
    if (from && to && *from >= *to)
      mistakes.push_back({ErrorKind::invalid, "reversed", "?from", "from is not before to", "put the earlier time first"});
    if (!mistakes.empty()) break;
    const auto shown = hours_to_show(*view, run, from, to, call.picture->now, quantities, with_members);
    if (!shown) return call.refuse({404, shown.error().code, "There is no such run here", shown.error().what, {}});
    if (call.type == "text/csv") {
      add_hours_csv(csv, view->unit.id, shown->hours, shown->fit, quantities);
      continue;
    }
    const std::string hours = hours_json(*view, *shown, quantities, ventilation, with_limits, with_members);
    (json += json.empty() ? "" : ",") += is_local ? in_local_time(hours, {view}) : hours;
  }
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  if (call.type != "text/csv")
    return answer_about(call, units, is_list ? R"({"units":[)" + json + "]}" : json.empty() ? "{}" : json);
  // A table has no place for what answers carry, so it stands in the head.
  Response answer{200, "text/csv; charset=utf-8; header=present", std::move(csv), {}};
  const StandingNote standing = standing_note(*call.picture, units, call.now);
  const auto say_time = [&](const char* header, const std::optional<UtcTime>& t) {
    if (t) answer.headers.emplace_back(header, utc_text(*t));
  };
  if (const std::optional<RunNote>& rests_on = standing.run) {
    if (rests_on->computed_at) answer.headers.emplace_back("Last-Modified", http_date(*rests_on->computed_at));
    answer.headers.emplace_back("Hakea-Run", rests_on->id);
    say_time("Hakea-Reference-Time", rests_on->reference_time);
    say_time("Hakea-Received-At", rests_on->received_at);
    say_time("Hakea-Computed-At", rests_on->computed_at);
    say_time("Hakea-Next-Expected", rests_on->next_expected);
  }
  answer.headers.emplace_back("Hakea-Freshness", std::string(word(standing.freshness)));
  answer.headers.emplace_back("Hakea-Caution", standing.caution);
  return answer;
}

}  // namespace

Response hours_of_unit(const Call& call) {
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  return answer_hours(call, {found.view}, false);
}

Response hours_of_units(const Call& call) {
  std::vector<const UnitView*> units;
  std::vector<std::string> ids = query_list(call, "units");
  if (ids.empty())
    for (const auto& [id, view] : call.picture->units)
      if (call.may_see(view->unit.district)) ids.push_back(id);
  if (ids.size() > kUnitsAtMost)
    return call.refuse(
        mistakes_of_query({{ErrorKind::invalid, "too_many", "?units", fmt::format("{} units are asked for", ids.size()),
                            fmt::format("ask for at most {} at a time", kUnitsAtMost)}}));
  for (const std::string& id : ids) {
    const FoundUnit found = find_unit(call, id);
    if (!found.view) return found.refused;
    units.push_back(found.view);
  }
  return answer_hours(call, units, true);
}

}  // namespace hakea::service
