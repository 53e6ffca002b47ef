#include "service/output/history_json.h"

#include "core/catalogue/catalogue.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

void write_limit_number(JsonWriter& out, const core::Prescription& prescription, std::size_t limit) {
  out.whole("limit", static_cast<long long>(limit))
      .text("quantity", core::catalogue()[prescription.limits[limit].quantity].key)
      .text("scope", core::word(prescription.limits[limit].scope));
}

}  // namespace

void write_history(JsonWriter& out, const Unit& unit, const core::History& history) {
  out.begin_object().text("id", unit.id).whole("days", static_cast<long long>(history.dates.size())).whole("met", history.met);
  out.whole("unknown", history.unknown);
  if (history.dates.empty())
    out.null("from").null("to");
  else
    out.text("from", date_text(history.dates.front().date)).text("to", date_text(history.dates.back().date));
  out.key("by_month").begin_list();
  for (const int met : history.by_month) out.whole(met);
  out.end_list().key("by_year").begin_list();
  for (const auto& [year, met] : history.by_year) out.begin_object().whole("year", year).whole("met", met).end_object();
  out.end_list().key("hours_lost").begin_list();
  for (const core::History::Lost& lost : history.hours_lost) {
    write_limit_number(out.begin_object(), unit.prescription, lost.limit);
    out.whole("alone", lost.alone).whole("together", lost.together).end_object();
  }
  out.end_list().key("never_together").begin_list();
  for (const auto& [i, j] : history.never_together)
    out.begin_list().whole(static_cast<long long>(i)).whole(static_cast<long long>(j)).end_list();
  out.end_list();
  if (history.best_relaxation) {
    write_limit_number(out.key("best_relaxation").begin_object(), unit.prescription, history.best_relaxation->limit);
    out.whole("gain_days", history.best_relaxation->gain_days).end_object();
  } else {
    out.null("best_relaxation");
  }
  out.number_or_null("rarity", history.rarity()).key("met_dates").begin_list();
  for (const core::History::OnDate& on : history.dates)
    if (on.verdict == core::Verdict::met) out.text(date_text(on.date));
  out.end_list().end_object();
}

}  // namespace hakea::service
