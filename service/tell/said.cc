#include "service/tell/said.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/input/json.h"
#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr ClockTime kDigestHour{6 * 60 + 30};  // of a district that names none
constexpr std::array kVerdicts{core::Verdict::met, core::Verdict::unknown, core::Verdict::near_miss, core::Verdict::out,
                               core::Verdict::blocked};

std::optional<core::Verdict> verdict_of(std::string_view word) {
  const auto found = std::find_if(kVerdicts.begin(), kVerdicts.end(), [&](core::Verdict v) { return core::word(v) == word; });
  return found == kVerdicts.end() ? std::nullopt : std::optional(*found);
}

// What was kept last, and what was kept on an earlier date than that.
std::string last_key(const DistrictView& district) { return fmt::format("said.{}.last", district.district.id); }
std::string before_key(const DistrictView& district) { return fmt::format("said.{}.before", district.district.id); }

Result<std::optional<SaidBefore>> kept(Store& store, const std::string& key) {
  const auto text = store.note(key);
  if (!text) return text.errors();
  if (!*text) return std::optional<SaidBefore>();
  auto said = parse_said(**text);
  if (!said) return said.errors();
  return std::optional(*std::move(said));
}

}  // namespace

SaidBefore said_now(const Snapshot& snapshot, const DistrictView& district) {
  SaidBefore said;
  said.at = snapshot.now;
  for (const auto& [id, view] : snapshot.units) {
    if (view->unit.district != district.district.id) continue;
    for (const core::Day& day : view->days) {
      SaidBefore::Said& entry = said.units[id][day.date];
      entry.verdict = day.verdict;
      const core::Window* best = core::best_window(day);
      if (best && !best->unconfirmed) entry.start = best->start.start(), entry.end = best->end.start();
    }
  }
  return said;
}

std::string said_json(const SaidBefore& said) {
  JsonWriter out;
  out.begin_object().text("at", utc_text(said.at)).key("units").begin_object();
  for (const auto& [id, by_date] : said.units) {
    out.key(id).begin_object();
    for (const auto& [date, entry] : by_date) {
      out.key(date_text(date)).begin_object().text("verdict", core::word(entry.verdict));
      if (entry.start && entry.end) out.text("start", utc_text(*entry.start)).text("end", utc_text(*entry.end));
      out.end_object();
    }
    out.end_object();
  }
  return out.end_object().end_object().str();
}

Result<SaidBefore> parse_said(std::string_view text) {
  const auto document = parse_json(text, "what was said");
  if (!document) return document.errors();
  Errors mistakes;
  SaidBefore said;
  JsonObject top(*document, "", mistakes);
  top.require("at", "an instant");
  said.at = top.instant("at").value_or(UtcTime{});
  const json::value* units = top.find("units");
  if (units && units->is_object())
    for (const auto& unit : units->as_object()) {
      const std::string at_unit = pointer_to("/units", unit.key());
      if (!unit.value().is_object()) {
        mistakes.push_back({ErrorKind::invalid, "wrong_kind", at_unit, "the unit's days are no object", ""});
        continue;
      }
      auto& by_date = said.units[std::string(unit.key())];
      for (const auto& day : unit.value().as_object()) {
        JsonObject entry(day.value(), pointer_to(at_unit, day.key()), mistakes);
        const auto date = parse_date(day.key());
        const auto verdict = verdict_of(entry.text("verdict").value_or(""));
        if (!date || !verdict) {
          mistakes.push_back({ErrorKind::invalid, "wrong_kind", entry.pointer(), "neither a date nor a verdict", ""});
          continue;
        }
        by_date[*date] = {*verdict, entry.instant("start"), entry.instant("end")};
      }
    }
  if (!mistakes.empty()) return mistakes;
  return said;
}

ClockTime digest_hour(const DistrictView& district) {
  const auto document = parse_json(district.json, "district");
  return document ? parse_clock(text_member(*document, "digest_hour")).value_or(kDigestHour) : kDigestHour;
}

Result<std::optional<SaidBefore>> said_before(Store& store, const DistrictView& district, LocalDate date) {
  for (const std::string& key : {last_key(district), before_key(district)}) {
    auto said = kept(store, key);
    if (!said || (*said && zone_of(district).date((*said)->at) < date)) return said;
  }
  return std::optional<SaidBefore>();
}

Result<bool> keep_said(Store& store, const Snapshot& snapshot, const DistrictView& district, UtcTime now) {
  const TimeZone& zone = zone_of(district);
  const LocalDate date = zone.date(now);
  if (now < zone.instant(date, digest_hour(district))) return false;
  const auto last = kept(store, last_key(district));
  if (!last) return last.errors();
  if (*last && zone.date((*last)->at) >= date) return false;
  SaidBefore said = said_now(snapshot, district);
  said.at = now;
  const bool says_something =
      std::any_of(said.units.begin(), said.units.end(), [](const auto& unit) { return !unit.second.empty(); });
  if (!says_something) return false;
  // In this order, a stop in between leaves the older one in both places and nothing is lost.
  if (*last)
    if (const auto set = store.set_note(before_key(district), said_json(**last)); !set) return set.errors();
  return store.set_note(last_key(district), said_json(said));
}

Result<Digest> digest_now(Store& store, const Snapshot& snapshot, const DistrictView& district, LocalDate date,
                          const core::ProgramSolver& solver) {
  const auto before = said_before(store, district, date);
  if (!before) return before.errors();
  const auto [from, to] = planned_dates(date);
  const auto plan = propose_burns(snapshot, district, {.from = from, .to = to, .means = district.district.means}, solver);
  return make_digest(snapshot, district, date, *before ? &**before : nullptr, &plan);
}

}  // namespace hakea::service
