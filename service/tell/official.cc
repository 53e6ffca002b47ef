#include "service/tell/official.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/catalogue/catalogue.h"
#include "core/days/explain.h"
#include "service/output/time_text.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

// From the nearer way round for a direction.
double apart(double official, double ours, std::string_view unit) {
  const double difference = official - ours;
  return unit == "deg" ? std::remainder(difference, 360) : difference;
}

void compare(OfficialValue& value, const core::UnitHours& hours, UtcHour hour) {
  if (hour < hours.first || hour >= hours.end()) return;
  const core::Column& column = hours.columns[value.quantity];
  const auto i = static_cast<std::size_t>(hour - hours.first);
  if (column.empty() || column.is_missing(i)) return;
  const core::QuantityRow& row = core::catalogue()[value.quantity];
  value.ours = static_cast<double>(column[i]);
  value.difference = apart(value.official, *value.ours, row.unit);
  value.differs = std::abs(*value.difference) > row.forecast_error && row.forecast_error > 0;
}

std::optional<OfficialForecast> read(const Entry& entry, const UnitView& view, UtcTime from) {
  const auto body = parse_json(entry.body, entry.id);
  if (!body || text_member(*body, "kind") != "official_forecast" || text_member(*body, "unit") != view.unit.id)
    return std::nullopt;
  const auto at = parse_instant(text_member(*body, "at"));
  const json::value* values = body->get_object().if_contains("values");
  if (!at || *at < from || !values || !values->is_object()) return std::nullopt;
  OfficialForecast forecast{entry.id, text_member(*body, "by"), *at, {}};
  for (const auto& [key, value] : values->get_object()) {
    const auto quantity = core::find_quantity(key);
    const json::value* number = value.is_object() ? value.get_object().if_contains("value") : nullptr;
    if (quantity && number && number->is_number())
      forecast.values.push_back({.quantity = *quantity, .official = number->to_number<double>()});
  }
  return forecast;
}

}  // namespace

std::vector<OfficialForecast> official_forecasts(const Snapshot& snapshot, const UnitView& view, UtcTime from) {
  std::vector<OfficialForecast> forecasts;
  for (const Entry& entry : snapshot.observations)
    if (auto forecast = read(entry, view, from)) forecasts.push_back(*std::move(forecast));
  if (forecasts.empty()) return forecasts;
  std::stable_sort(forecasts.begin(), forecasts.end(), [](const auto& a, const auto& b) { return a.at < b.at; });
  const auto points = hours_of(view);
  if (points.empty()) return forecasts;
  for (OfficialForecast& forecast : forecasts)
    for (OfficialValue& value : forecast.values) compare(value, points.front().front(), UtcHour::of(forecast.at));
  return forecasts;
}

std::string official_json(const UnitView& view, const std::vector<OfficialForecast>& forecasts) {
  JsonWriter out;
  out.begin_object().key("official").begin_list();
  for (const OfficialForecast& forecast : forecasts) {
    out.begin_object().text("id", forecast.id).text("at", local_text(forecast.at, view.unit.traits.zone)).text("by", forecast.by);
    out.key("values").begin_object();
    for (const OfficialValue& value : forecast.values) {
      const core::QuantityRow& row = core::catalogue()[value.quantity];
      out.key(row.key).begin_object().number("value", value.official).text("unit", row.unit);
      for (const auto& [name, number] : {std::pair("ours", value.ours), std::pair("difference", value.difference)})
        out.number_or_null(name, number);
      out.yes_or_no("differs", value.differs).end_object();
    }
    out.end_object().end_object();
  }
  return out.end_list().end_object().str();
}

std::string official_text(const UnitView& view, const std::vector<OfficialForecast>& forecasts, LocalDate date) {
  const TimeZone& zone = view.unit.traits.zone;
  std::vector<std::string> differences;
  for (const OfficialForecast& forecast : forecasts)
    for (const OfficialValue& value : forecast.values) {
      if (!value.differs || zone.date(forecast.at) != date) continue;
      const core::QuantityRow& row = core::catalogue()[value.quantity];
      differences.push_back(fmt::format("{} {} at {}, ours {}", spoken(row), core::with_unit(value.official, row.unit),
                                        clock_text(forecast.at, zone), core::with_unit(*value.ours, row.unit)));
    }
  return differences.empty() ? "" : "the official forecast differs: " + listed(differences);
}

}  // namespace hakea::service
