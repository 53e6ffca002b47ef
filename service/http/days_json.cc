#include "service/http/days_json.h"

#include <map>

#include "service/output/time_text.h"

namespace hakea::service {

std::string days_json(const Unit& unit, const std::vector<core::Day>& days, const core::Prescription& prescription) {
  JsonWriter out;
  out.begin_object().text("unit", unit.id).key("days").begin_list();
  for (const core::Day& day : days) write_day(out, day, prescription, unit.traits.zone);
  out.end_list().end_object();
  return out.str();
}

std::string changed_json(const std::vector<core::Day>& before, const std::vector<core::Day>& after) {
  std::map<LocalDate, core::Verdict> verdicts;
  for (const core::Day& day : before) verdicts.emplace(day.date, day.verdict);
  std::map<LocalDate, std::pair<core::Verdict, core::Verdict>> changed;
  for (const core::Day& day : after) {
    const auto was = verdicts.find(day.date);
    if (was != verdicts.end() && was->second != day.verdict) changed.emplace(day.date, std::pair(was->second, day.verdict));
  }
  JsonWriter out;
  out.begin_object().key("changed").begin_list();
  for (const auto& [date, verdict] : changed)
    out.begin_object()
        .text("date", date_text(date))
        .text("from", core::word(verdict.first))
        .text("to", core::word(verdict.second))
        .end_object();
  out.end_list().end_object();
  return out.str();
}

}  // namespace hakea::service
