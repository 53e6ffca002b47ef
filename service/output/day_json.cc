#include "service/output/day_json.h"

#include <array>
#include <cmath>

#include "core/catalogue/catalogue.h"
#include "core/catalogue/status.h"
#include "core/verify/scores.h"
#include "service/output/time_text.h"

namespace hakea::service {

using core::Limit;

void write_limit(JsonWriter& out, const Limit& limit, std::optional<double> value) {
  out.key("limit").begin_object();
  if (!limit.sectors.empty()) {
    out.key("sectors").begin_list();
    for (const core::Sector& sector : limit.sectors)
      out.begin_object().number("from", sector.from).number("to", sector.to).end_object();
    out.end_list();
  }
  const core::Range range = bounds_that_matter(limit.acceptable, value);
  if (range.lower) out.number(range.lower->open ? "above" : "min", range.lower->value);
  if (range.upper) out.number(range.upper->open ? "below" : "max", range.upper->value);
  out.end_object();
}

namespace {

std::string_view key_of(const Limit& limit) { return core::catalogue()[limit.quantity].key; }

void write_quantity(JsonWriter& out, const Limit& limit, bool with_scope = true) {
  out.text("quantity", key_of(limit));
  if (with_scope) out.text("scope", core::word(limit.scope));
}

void write_edge(JsonWriter& out, std::string_view name, const core::WindowEdge& edge, const core::Prescription& prescription) {
  out.key(name).begin_object().text("by", core::word(edge.by));
  if (edge.limit < prescription.limits.size()) {
    const Limit& limit = prescription.limits[edge.limit];
    write_quantity(out, limit);
    out.number_or_null("value", edge.value);
    write_limit(out, limit, edge.value);
    if (edge.why != core::Reason::none) out.text("reason", core::word(edge.why));
  }
  out.end_object();
}

bool is_time(UtcTime t) { return t != UtcTime{} && t != UtcTime::min(); }

void write_time(JsonWriter& out, std::string_view name, UtcTime t, const TimeZone& zone) {
  if (is_time(t))
    out.text(name, local_text(t, zone));
  else
    out.null(name);
}

void write_windows(JsonWriter& out, const core::Day& day, const core::Prescription& prescription, const TimeZone& zone) {
  out.key("windows").begin_list();
  for (const core::Window& window : day.windows) write_window(out, window, prescription, zone);
  out.end_list();
}

void write_limiting(JsonWriter& out, const core::Day& day, const core::Prescription& prescription, const TimeZone& zone) {
  if (!day.limiting || day.limiting->limit >= prescription.limits.size()) {
    out.null("limiting");
    return;
  }
  const core::Limiting& limiting = *day.limiting;
  const Limit& limit = prescription.limits[limiting.limit];
  out.key("limiting").begin_object();
  write_quantity(out, limit);
  out.number_or_null("value", limiting.value);
  write_limit(out, limit, limiting.value);
  out.number_or_null("margin", limiting.margin);
  out.number_or_null("margin_errors", limiting.margin_errors);
  out.number_or_null("gain_h", limiting.gain_h);
  if (limiting.at)
    out.text("at", local_text(limiting.at->start(), zone));
  else
    out.null("at");
  if (limiting.over_points) {
    out.key("over_points").begin_object().number("min", static_cast<double>(limiting.over_points->first));
    out.number("max", static_cast<double>(limiting.over_points->second)).end_object();
  } else {
    out.null("over_points");
  }
  out.end_object();
}

// A night that is not kept, with the end that is advised before it.
void write_night_smoke(JsonWriter& out, const core::Day& day, const core::Prescription& prescription, const TimeZone& zone) {
  if (!day.night_smoke || day.night_smoke->limit >= prescription.limits.size()) {
    out.null("night_smoke");
    return;
  }
  const Limit& limit = prescription.limits[day.night_smoke->limit];
  out.key("night_smoke").begin_object();
  write_quantity(out, limit);
  out.number_or_null("value", day.night_smoke->value);
  write_limit(out, limit, day.night_smoke->value);
  out.text("at", local_text(day.night_smoke->at.start(), zone));
  if (day.night_smoke->finish_by)
    out.text("finish_by", local_text(*day.night_smoke->finish_by, zone));
  else
    out.null("finish_by");
  out.end_object();
}

void write_tail_value(JsonWriter& out, std::string_view name, const std::optional<core::TailValue>& value,
                      const core::Prescription& prescription, const TimeZone& zone) {
  if (!value || value->limit >= prescription.limits.size()) {
    out.null(name);
    return;
  }
  out.key(name).begin_object();
  write_quantity(out, prescription.limits[value->limit], false);
  out.number("value", static_cast<double>(value->value)).text("at", local_text(value->at.start(), zone)).end_object();
}

void write_tail(JsonWriter& out, const core::Day& day, const core::Prescription& prescription, const TimeZone& zone) {
  if (day.tail.verdict == core::TailVerdict::none) {
    out.null("tail");
    return;
  }
  out.key("tail").begin_object().text("verdict", core::word(day.tail.verdict));
  write_tail_value(out, "worst", day.tail.worst, prescription, zone);
  write_tail_value(out, "beyond", day.tail.beyond, prescription, zone);
  out.end_object();
}

// By which method each hour's value was found; an entered one by none.
template <class Method, class MethodOf>
void write_methods(JsonWriter& out, const core::Column& column, std::initializer_list<Method> methods, MethodOf&& method_of) {
  out.key("method").begin_object();
  for (const Method method : methods)
    write_ranges(out, core::word(method), column.size(), [&](std::size_t i) {
      return method_of(i) == method && !column.is_missing(i) && (column.flags(i) & core::flag::kReading) == 0;
    });
  out.end_object();
}

// What each table calls the hours' ventilation.
void write_classes(JsonWriter& out, const core::Column& column, const VentilationTables& ventilation) {
  out.key("classes").begin_object();
  for (const VentilationTable& table : ventilation.tables) {
    out.key(table.id).begin_object();
    for (std::size_t name = 0; name < table.names.size(); ++name)
      write_ranges(out, table.names[name], column.size(), [&](std::size_t i) {
        return !column.is_missing(i) && table.stretch_of(static_cast<double>(column[i])) == name;
      });
    out.end_object();
  }
  out.end_object();
}

void write_agreement(JsonWriter& out, std::string_view name, const core::Agreement& agreement) {
  if (agreement.of > 0)
    out.key(name).begin_object().whole("same", agreement.same).whole("of", agreement.of).end_object();
  else
    out.null(name);
}

// What the word of confidence rests on. A share is given only where windows called so far ahead have been verified.
void write_evidence(JsonWriter& out, const core::Evidence& evidence) {
  out.key("rests_on").begin_object().whole("lead_days", evidence.lead_days);
  write_agreement(out, "members", evidence.members);
  write_agreement(out, "feeds", evidence.feeds);
  write_agreement(out, "runs", evidence.runs);
  if (evidence.keeps_margin)
    out.yes_or_no("keeps_margin", *evidence.keeps_margin);
  else
    out.null("keeps_margin");
  if (evidence.verified) {
    const core::ShareSpan span = core::wilson_95(evidence.verified->same, evidence.verified->of);
    out.key("verified").begin_object().whole("came", evidence.verified->same).whole("called", evidence.verified->of);
    out.whole("share_pct", std::lround(100.0 * evidence.verified->same / evidence.verified->of));
    out.whole("low_pct", std::lround(100 * span.low)).whole("high_pct", std::lround(100 * span.high)).end_object();
  } else {
    out.null("verified");
  }
  out.end_object();
}

}  // namespace

core::Range bounds_that_matter(const core::Range& range, std::optional<double> value) {
  if (!value || !range.lower || !range.upper) return range;
  const bool is_nearer_the_upper = std::abs(*value - range.upper->value) < std::abs(*value - range.lower->value);
  return is_nearer_the_upper ? core::Range{{}, range.upper} : core::Range{range.lower, {}};
}

std::string_view word(core::Fit fit) { return fit == core::Fit::in ? "in" : fit == core::Fit::out ? "out" : "unknown"; }

void write_window(JsonWriter& out, const core::Window& window, const core::Prescription& prescription, const TimeZone& zone) {
  out.begin_object().text("start", local_text(window.start.start(), zone)).text("end", local_text(window.end.start(), zone));
  out.whole("hours", window.hours())
      .number("fit", window.fit)
      .yes_or_no("unconfirmed", window.unconfirmed)
      .yes_or_no("open_ended", window.open_ended);
  write_time(out, "latest_light_up", window.latest_light_up, zone);
  write_time(out, "sunset", window.sunset, zone);
  write_edge(out, "opens", window.opens, prescription);
  write_edge(out, "closes", window.closes, prescription);
  out.end_object();
}

void write_day(JsonWriter& out, const core::Day& day, const core::Prescription& prescription, const TimeZone& zone) {
  out.begin_object().text("date", date_text(day.date)).text("verdict", core::word(day.verdict)).whole("rank", day.rank);
  out.number_or_null("fit", day.fit);
  out.text("confidence", core::word(day.confidence));
  write_evidence(out, day.rests_on);
  if (day.members)
    out.key("members").begin_object().whole("met", day.members->met).whole("of", day.members->of).end_object();
  else
    out.null("members");
  out.key("feeds").begin_list();
  for (const core::FeedVerdict& feed : day.feeds)
    out.begin_object().text("feed", feed.feed).text("run", feed.run).text("verdict", core::word(feed.verdict)).end_object();
  out.end_list().yes_or_no("draft", day.draft);
  write_windows(out, day, prescription, zone);
  write_limiting(out, day, prescription, zone);
  write_tail(out, day, prescription, zone);
  write_night_smoke(out, day, prescription, zone);
  out.key("notes").begin_list();
  for (const core::Note& note : day.notes) {
    const Limit& limit = prescription.limits[note.limit];
    out.begin_object();
    write_quantity(out, limit);
    out.number_or_null("value", note.value);
    write_limit(out, limit, note.value);
    out.end_object();
  }
  out.end_list().key("missing").begin_list();
  for (const core::MissingInput& missing : day.missing) {
    out.begin_object();
    if (missing.quantity)
      out.text("quantity", core::catalogue()[*missing.quantity].key);
    else
      out.null("quantity");
    out.whole("hours", missing.hours).text("reason", core::word(missing.reason)).end_object();
  }
  out.end_list().key("blocked_by").begin_list();
  for (const core::Blocked& blocked : day.blocked_by) {
    out.begin_object().text("kind", blocked.kind).text("why", blocked.why);
    out.text_or_null("until", blocked.until).end_object();
  }
  out.end_list().key("parts").begin_list();
  for (const core::Part& part : day.parts) out.begin_object().text("name", part.name).number("points", part.points).end_object();
  out.end_list().key("provisional").begin_list();
  for (const std::size_t q : day.provisional) out.text(core::catalogue()[q].key);
  out.end_list().key("spin_up").begin_list();
  for (const std::size_t q : day.spin_up) out.text(core::catalogue()[q].key);
  out.end_list().texts("flags", day.flags).text("why", day.why).end_object();
}

void write_flags(JsonWriter& out, const core::QuantityRow& row, const core::UnitHours& hours) {
  struct FlagName {
    std::string_view name;
    std::uint8_t bit;
  };
  constexpr std::array<FlagName, 5> kFlags{{{"interpolated", core::flag::kInterpolated},
                                            {"out_of_domain", core::flag::kOutOfDomain},
                                            {"spin_up", core::flag::kSpinUp},
                                            {"reading", core::flag::kReading},
                                            {"at_least", core::flag::kAtLeast}}};
  const core::Column& column = hours.columns[core::quantity_index(row.key)];
  out.begin_object();
  for (const FlagName& flag : kFlags)
    write_ranges(out, flag.name, column.size(), [&](std::size_t i) { return (column.flags(i) & flag.bit) != 0; });
  if (row.key == "mixing_height" && hours.mixing.size() == column.size())
    write_ranges(out, "methods_disagree", column.size(), [&](std::size_t i) { return hours.mixing[i].methods_disagree; });
  const core::Status status = hours.unit ? core::status_of(row, *hours.unit) : row.status;
  out.yes_or_no("provisional", status == core::Status::provisional).end_object();
}

void write_missing(JsonWriter& out, const core::UnitHours& hours, const std::vector<std::size_t>& quantities) {
  out.key("missing").begin_list();
  for (const std::size_t q : quantities) {
    const core::Column& column = hours.columns[q];
    for (std::size_t i = 0; i < column.size();) {
      const std::size_t from = i;
      const core::Reason why = column.why(i);
      while (i < column.size() && column.is_missing(i) == column.is_missing(from) && column.why(i) == why) ++i;
      if (column.is_missing(from))
        out.begin_object()
            .text("quantity", core::catalogue()[q].key)
            .whole("from", static_cast<long long>(from))
            .whole("to", static_cast<long long>(i))
            .text("reason", core::word(why))
            .end_object();
    }
  }
  out.end_list();
}

void write_sampling(JsonWriter& out, const std::vector<SamplingNote>& sampling) {
  out.key("sampling").begin_list();
  for (const SamplingNote& s : sampling) {
    out.begin_object()
        .text("feed", s.feed)
        .number("lat", s.latitude_deg)
        .number("lon", s.longitude_deg)
        .number("model_elevation_m", s.model_elevation.value())
        .number("unit_elevation_m", s.unit_elevation.value());
    if (s.sea == ingest::Sea::unknown)
      out.null("sea");
    else
      out.text("sea", s.sea == ingest::Sea::near ? "near" : "none");
    if (!s.station.empty()) out.text("station", s.station).tenths("distance_km", s.distance_km);
    out.end_object();
  }
  out.end_list();
}

void write_hours(JsonWriter& out, const core::UnitHours& hours, const std::vector<std::size_t>& quantities,
                 const std::vector<core::Fit>& fit, const std::vector<SamplingNote>& sampling,
                 const VentilationTables& ventilation) {
  out.begin_object().key("times").begin_list();
  for (std::size_t i = 0; i < hours.hours; ++i) out.text(utc_text((hours.first + static_cast<int>(i)).start()));
  out.end_list().key("quantities").begin_object();
  for (const std::size_t q : quantities) {
    const core::QuantityRow& row = core::catalogue()[q];
    const core::Column& column = hours.columns[q];
    out.key(row.key).begin_object().text("unit", row.unit).key("values").begin_list();
    for (std::size_t i = 0; i < column.size(); ++i) out.number(static_cast<double>(column[i]));
    write_flags(out.end_list().key("flags"), row, hours);
    if (row.key == "mixing_height" && hours.mixing.size() == column.size()) {
      using enum core::MixingMethod;
      write_methods(out, column, {model, parcel, bulk_richardson, mechanical},
                    [&](std::size_t i) { return hours.mixing[i].method; });
    }
    if (row.key == "ventilation_index") write_classes(out, column, ventilation);
    if (row.key == "stability_class" && hours.stability.size() == column.size()) {
      using enum core::StabilityMethod;
      write_methods(out, column, {radiation, gradient, turner}, [&](std::size_t i) { return hours.stability[i]; });
    }
    out.end_object();
  }
  out.end_object().key("fit").begin_list();
  for (const core::Fit f : fit) out.text(word(f));
  out.end_list();
  write_missing(out, hours, quantities);
  write_sampling(out, sampling);
  out.end_object();
}

void write_run(JsonWriter& out, const RunNote& run) {
  out.begin_object().text("id", run.id).text("feed", run.feed).text("reference_time", utc_text(run.reference_time));
  write_time(out, "received_at", run.received_at);
  write_time(out, "computed_at", run.computed_at);
  write_time(out, "next_expected", run.next_expected);
  out.text("state", run.state).whole("revision", run.revision).end_object();
}

}  // namespace hakea::service
