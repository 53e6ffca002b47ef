#include "service/tell/burn_ahead.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/days/explain.h"
#include "service/output/time_text.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

constexpr double kDry_mm = 0.2;  // less is no rain, as for hours_since_rain

void write_worst(JsonWriter& out, std::string_view name, const std::optional<core::WorstHour>& worst, const TimeZone& zone) {
  if (!worst) {
    out.null(name);
    return;
  }
  out.key(name).begin_object().number("value", static_cast<double>(worst->value));
  out.text("at", local_text(worst->at.start(), zone)).end_object();
}

void write_burn_day(JsonWriter& out, const core::BurnDay& day, const UnitView& view) {
  const TimeZone& zone = view.unit.traits.zone;
  write_worst(out, "ffdi", day.ffdi, zone);
  write_worst(out, "wind_gust", day.gust, zone);
  write_worst(out, "relative_humidity", day.humidity, zone);
  if (day.change) {
    out.key("wind_change").begin_object().number("wind_shift", static_cast<double>(day.change->turn_deg));
    out.number("wind_speed", static_cast<double>(day.change->wind_kmh));
    out.text("at", local_text(day.change->at.start(), zone)).end_object();
  } else {
    out.null("wind_change");
  }
  if (day.rain_mm)
    out.number("precipitation_amount", *day.rain_mm);
  else
    out.null("precipitation_amount");
  out.whole("missing_hours", day.missing_hours).key("tail").begin_object().text("verdict", core::word(day.tail));
  out.key("broken").begin_list();
  for (const core::TailValue& broken : day.broken) {
    const core::Limit& limit = view.unit.prescription.limits[broken.limit];
    const auto value = static_cast<double>(broken.value);
    out.begin_object().text("quantity", core::catalogue()[limit.quantity].key).text("scope", core::word(limit.scope));
    out.number("value", value).text("at", local_text(broken.at.start(), zone));
    write_limit(out, limit, value);
    out.end_object();
  }
  out.end_list().end_object();
}

}  // namespace

std::vector<core::BurnDay> burn_days_of(const UnitView& view, UtcTime now) {
  const auto hours = view.weather ? hours_of_all_feeds(view) : std::vector<std::vector<core::UnitHours>>{};
  return core::burn_days(view.unit.traits, view.unit.prescription, hours, now);
}

std::string look_ahead_json(const UnitView& view, const std::vector<core::BurnDay>& days) {
  JsonWriter out;
  out.begin_object().key("look_ahead").begin_object().key("worst").begin_object();
  write_burn_day(out, core::worst_of(days), view);
  out.end_object().key("days").begin_list();
  for (const core::BurnDay& day : days) {
    out.begin_object().text("date", date_text(day.date));
    write_burn_day(out, day, view);
    out.end_object();
  }
  return out.end_list().end_object().end_object().str();
}

std::vector<std::string> burn_week_words(const UnitView& view, const std::vector<core::BurnDay>& days) {
  const core::BurnDay week = core::worst_of(days);
  if (!week.ffdi && !week.humidity && !week.rain_mm) return {};
  const TimeZone& zone = view.unit.traits.zone;
  std::vector<std::string> words;
  if (!week.broken.empty()) {
    const core::TailValue& first = week.broken.front();
    const core::Limit& limit = view.unit.prescription.limits[first.limit];
    const core::QuantityRow& quantity = core::catalogue()[limit.quantity];
    words.push_back(fmt::format("its tail fails {}, {} {}, {}", weekday_name(zone.date(first.at.start())), spoken(quantity),
                                core::with_unit(static_cast<double>(first.value), quantity.unit), core::needs_text(limit)));
  }
  if (week.change)
    words.push_back(fmt::format("wind change {}, {:.0f}° at {:.0f} km/h", spoken_time(week.change->at.start(), zone),
                                week.change->turn_deg, week.change->wind_kmh));
  LocalDate last = days.front().date;
  for (const core::BurnDay& day : days)
    if (day.rain_mm) last = std::max(last, day.date);
  if (week.rain_mm && *week.rain_mm >= kDry_mm)
    words.push_back(fmt::format("rain {} until {}", core::with_unit(*week.rain_mm, "mm"), weekday_name(last)));
  else if (week.rain_mm)
    words.push_back(fmt::format("no rain until {}", weekday_name(last)));
  return words;
}

}  // namespace hakea::service
