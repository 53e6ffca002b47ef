#include "service/tell/words.h"

#include <fmt/format.h>

#include <cmath>
#include <map>

#include "core/days/explain.h"

namespace hakea::service {
namespace {

using namespace std::chrono;

// Names that are too long to be read out, or that would leave open at which height or in which fuel.
const std::map<std::string_view, std::string_view> kShorter{{"ffdi", "calculated FFDI"},
                                                            {"gfdi", "calculated GFDI"},
                                                            {"kbdi", "KBDI"},
                                                            {"wind_speed", "wind speed at 10 m"},
                                                            {"wind_gust", "gust"},
                                                            {"wind_from_direction", "wind direction"},
                                                            {"wind_shift", "wind shift"},
                                                            {"mixing_height", "mixing height"},
                                                            {"hours_since_rain", "hours since rain"},
                                                            {"days_since_rain", "days since rain"},
                                                            {"precipitation_amount", "rain"},
                                                            {"in_forest_wind_speed", "wind speed in the forest"}};

}  // namespace

std::string weekday_name(LocalDate date) { return core::weekday_in_words(date); }

std::string spoken_date(LocalDate date) { return core::date_in_words(date); }

std::string spoken_time(UtcTime t, const TimeZone& zone) {
  const LocalDate date = zone.date(t);
  return fmt::format("{} {}{}", weekday_name(date), clock_text(t, zone), changes_clock(date, zone) ? offset_text(t, zone) : "");
}

bool changes_clock(LocalDate date, const TimeZone& zone) {
  return zone.offset_at(zone.day_begin(date)) != zone.offset_at(zone.day_begin(date + days(1)));
}

std::string spoken_span(UtcTime start, UtcTime end, const TimeZone& zone) {
  const LocalDate first = zone.date(start), last = zone.date(end);
  const bool with_offset = changes_clock(first, zone) || changes_clock(last, zone);
  const auto clock = [&](UtcTime t) { return clock_text(t, zone) + (with_offset ? offset_text(t, zone) : ""); };
  const bool is_next_day = last != first && end != zone.day_begin(first + days(1));
  const std::string end_text = last != first && !is_next_day ? "midnight" : clock(end);
  return fmt::format("{} to {}{}", clock(start), end_text, is_next_day ? " " + weekday_name(last) : "");
}

std::string spoken(const core::QuantityRow& quantity) {
  const auto shorter = kShorter.find(quantity.key);
  return shorter != kShorter.end() ? std::string(shorter->second) : core::lower_title(quantity);
}

std::string spoken(const core::Limit& limit) {
  std::string name = spoken(core::catalogue()[limit.quantity]);
  switch (limit.scope) {
    case core::Scope::night_after: return name + " in the night after";
    case core::Scope::days_after: return name + " in the days after";
    case core::Scope::before: return name + " beforehand";
    default: return name;
  }
}

std::string spoken(core::Verdict verdict) {
  return verdict == core::Verdict::near_miss ? "near miss" : std::string(core::word(verdict));
}

std::string spoken(std::string_view what, const core::WorstHour& worst, std::string_view unit, const TimeZone& zone) {
  return fmt::format("{} {} {}", what, core::with_unit(std::round(static_cast<double>(worst.value)), unit),
                     spoken_time(worst.at.start(), zone));
}

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

std::string counted(std::size_t number, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", number, number == 1 ? one : many);
}

std::string listed(const std::vector<std::string>& names) {
  std::string text;
  for (std::size_t i = 0; i < names.size(); ++i) text += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
  return text;
}

}  // namespace hakea::service
