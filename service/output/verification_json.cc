#include "service/output/verification_json.h"

#include <fmt/format.h>

#include <cmath>

#include "core/catalogue/catalogue.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

void write_calibration(JsonWriter& out, const ScoredCell& scored) {
  if (!scored.calibration) {
    out.null("calibration");
    return;
  }
  const core::Emos& emos = scored.calibration->emos;
  out.key("calibration")
      .begin_object()
      .text("distribution", emos.kind == core::EmosKind::normal ? "normal" : "normal_above_zero");
  out.number("a", emos.a).number("b", emos.b).number("c", emos.c).number("d", emos.d);
  out.whole("n", static_cast<long long>(emos.n));
  out.number("crps_unseen", scored.calibration->crps).number("crps_unseen_raw", scored.calibration->of_raw).end_object();
}

void write_spread(JsonWriter& out, const ScoredCell& scored) {
  if (!scored.spread) {
    out.null("spread");
    return;
  }
  out.key("spread").begin_object().whole("n", static_cast<long long>(scored.spread->n())).number("ratio", scored.spread->ratio());
  out.key("ranks").begin_list();
  for (const double count : scored.spread->ranks()) out.number(count);
  out.end_list().end_object();
}

void write_cell(JsonWriter& out, const ScoreCell& cell, const ScoredCell& scored) {
  const core::QuantityRow& row = core::catalogue()[cell.quantity];
  out.begin_object().text("feed", cell.feed).text("quantity", row.key).text("unit", row.unit).whole("lead_days", cell.lead_days);
  out.text("season", season_word(cell.season));
  out.text("hours", fmt::format("{:02}:00-{:02}:00", cell.three_hours * 3, cell.three_hours * 3 + 3));
  out.whole("n", static_cast<long long>(scored.errors.n));
  out.number("bias", scored.errors.bias).number("mae", scored.errors.mae).number("rmse", scored.errors.rmse);
  out.number_or_null("crps", scored.crps);
  if (const auto rule = bias_rule(cell.quantity); rule && scored.bias.method != core::BiasMethod::none)
    out.key("correction")
        .begin_object()
        .text("method", core::word(scored.bias.method))
        .text("kind", rule->kind == core::BiasKind::additive ? "take_off" : "divide_by")
        .number("amount", scored.bias.bias)
        .number("effective_n", scored.bias.effective_n)
        .end_object();
  else
    out.null("correction");
  write_calibration(out, scored);
  write_spread(out, scored);
  out.end_object();
}

void write_observer(JsonWriter& out, const Observer& observer) {
  out.begin_object();
  if (observer.station.empty()) {
    out.text("kind", "on_site");
  } else {
    out.text("kind", observer.feed.empty() ? "posted" : "feed").text("station", observer.station);
    if (!observer.feed.empty()) out.text("feed", observer.feed);
    out.tenths("distance_km", observer.km).tenths("higher_m", observer.higher_m);
  }
  out.whole("hours", static_cast<long long>(observer.hours)).end_object();
}

// A share in percent with the span that it lies in.
void write_share(JsonWriter& out, std::string_view name, double count, double of) {
  const core::ShareSpan span = core::wilson_95(count, of);
  if (of > 0)
    out.key(name)
        .begin_object()
        .whole("pct", std::lround(100 * count / of))
        .whole("low_pct", std::lround(100 * span.low))
        .whole("high_pct", std::lround(100 * span.high))
        .end_object();
  else
    out.null(name);
}

void write_table_scores(JsonWriter& out, const core::Contingency& table) {
  if (table.n() < static_cast<double>(core::kCasesForWindowShare)) {
    out.null("called_that_came").null("came_that_were_called").null("scores");
    return;
  }
  write_share(out, "called_that_came", table.hits, table.hits + table.false_alarms);
  write_share(out, "came_that_were_called", table.hits, table.hits + table.misses);
  const core::ContingencyScores scores = core::scores_of(table);
  out.key("scores").begin_object();
  out.number("threat_score", scores.threat_score).number("frequency_bias", scores.frequency_bias);
  out.number("false_alarm_rate", scores.false_alarm_rate).number("peirce_skill", scores.peirce_skill);
  out.number("equitable_threat", scores.equitable_threat).number("heidke_skill", scores.heidke_skill);
  out.number("extremal_dependence", scores.extremal_dependence);
  // To who loses twice, five and ten times the cost of acting.
  out.key("relative_value").begin_list();
  for (const double cost_loss : {0.5, 0.2, 0.1})
    out.begin_object().number("cost_loss", cost_loss).number("value", core::relative_value(table, cost_loss)).end_object();
  out.end_list().end_object();
}

// Of an ensemble: whether its chances mean what they say.
void write_chances(JsonWriter& out, const std::vector<core::Chance>& chances) {
  if (chances.size() < core::kCasesForWindowShare) {
    out.null("brier").null("reliability");
    return;
  }
  const core::Brier brier = core::brier_of(chances);
  out.key("brier").begin_object().whole("n", static_cast<long long>(brier.n)).number("score", brier.score);
  out.number("reliability", brier.reliability).number("resolution", brier.resolution);
  out.number("uncertainty", brier.uncertainty).number("skill", brier.skill).end_object();
  out.key("reliability").begin_list();
  for (const core::ReliabilityBin& bin : core::reliability_of(chances)) {
    out.begin_object().number("from", bin.from).number("to", bin.to).whole("n", static_cast<long long>(bin.n));
    out.number("given", bin.given).number("came", bin.happened).number("low", bin.low).number("high", bin.high).end_object();
  }
  out.end_list();
}

void write_windows(JsonWriter& out, const WindowsByFeed& all) {
  out.key("windows").begin_list();
  for (const auto& [at, windows] : all) {
    const core::Contingency& table = windows.table;
    out.begin_object().text("feed", at.first).whole("lead_days", at.second);
    out.whole("n", std::lround(table.n())).whole("called_and_came", std::lround(table.hits));
    out.whole("called_and_did_not", std::lround(table.false_alarms)).whole("not_called_and_came", std::lround(table.misses));
    out.whole("not_called_and_did_not", std::lround(table.correct_negatives));
    write_table_scores(out, table);
    write_chances(out, windows.chances);
    out.end_object();
  }
  out.end_list();
}

}  // namespace

void write_verification(JsonWriter& out, const Unit& unit, const Verification* verification) {
  static const Verification kNone;
  const Verification& v = verification ? *verification : kNone;
  out.begin_object().text("unit", unit.id);
  if (verification)
    out.text("from", utc_text(v.from)).text("to", utc_text(v.to));
  else
    out.null("from").null("to");
  out.key("observed_by").begin_list();
  for (const Observer& observer : v.observers) write_observer(out, observer);
  out.end_list().key("left_aside").begin_list();
  for (const std::size_t limit : v.left_aside) {
    const core::Limit& of = unit.prescription.limits[limit];
    out.begin_object().whole("limit", static_cast<long long>(limit)).text("quantity", core::catalogue()[of.quantity].key);
    out.text("scope", core::word(of.scope)).end_object();
  }
  out.end_list().key("scores").begin_list();
  for (const auto& [cell, scored] : v.cells) write_cell(out, cell, scored);
  out.end_list();
  write_windows(out, v.windows);
  out.end_object();
}

void write_verification(JsonWriter& out, const std::string& district, const std::map<std::string, const Verification*>& units) {
  std::vector<const Verification*> all;
  out.begin_object().text("district", district).key("units").begin_list();
  for (const auto& [id, verification] : units) {
    out.text(id);
    all.push_back(verification);
  }
  out.end_list();
  write_windows(out, together(all));
  out.end_object();
}

}  // namespace hakea::service
