// `hakea history`: past hours through the same evaluation as forecasts.
#include <fmt/format.h>

#include "core/catalogue/catalogue.h"
#include "service/base/workers.h"
#include "service/cli/commands.h"
#include "service/cli/inputs.h"
#include "service/engine/assessment.h"
#include "service/input/json.h"
#include "service/output/cautions.h"
#include "service/output/history_json.h"
#include "service/output/paragraph.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

// Units are worked on and printed in batches, so that their days need not all stand in memory.
constexpr std::size_t kBatch = 64;
constexpr std::array kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

std::optional<LocalDate> date_of(const Arguments& call, std::string_view option, Errors& mistakes) {
  if (!call.has(option)) return std::nullopt;
  const auto date = parse_date(call.one(option));
  if (!date)
    mistakes.push_back(
        wrong_call(std::string(option), fmt::format("\"{}\" is not a date", call.one(option)), "write one such as 2013-04-02"));
  return date;
}

std::string limit_in_words(const Unit& unit, std::size_t limit) {
  const core::Limit& asked = unit.prescription.limits[limit];
  return fmt::format("{} {}", core::catalogue()[asked.quantity].key, core::word(asked.scope));
}

void print_table(const Unit& unit, const core::History& history) {
  fmt::print("\n{}", unit.name);
  if (unit.name != unit.id) fmt::print(" ({})", unit.id);
  if (history.dates.empty()) {
    fmt::print("\n  no hours on the dates asked for\n");
    return;
  }
  fmt::print(", {} to {}, {}\n", date_text(history.dates.front().date), date_text(history.dates.back().date),
             unit.traits.zone.name());
  fmt::print("  met on {} of {} days", history.met, history.dates.size());
  if (history.unknown > 0) fmt::print("; {} days cannot be told, hours or inputs are missing", history.unknown);
  fmt::print("\n  by month: ");
  for (std::size_t m = 0; m < kMonths.size(); ++m) fmt::print(" {} {}", kMonths[m], history.by_month[m]);
  fmt::print("\n  by year:  ");
  for (const auto& [year, met] : history.by_year) fmt::print(" {}: {}", year, met);
  fmt::print("\n  {:<34} {:>5}  {:>11}\n", "light-up hours lost to a limit", "alone", "with others");
  for (const core::History::Lost& lost : history.hours_lost)
    fmt::print("    {:<32} {:>5}  {:>11}\n", limit_in_words(unit, lost.limit), lost.alone, lost.together);
  for (const auto& [i, j] : history.never_together)
    fmt::print("  never in together: {} and {}\n", limit_in_words(unit, i), limit_in_words(unit, j));
  if (history.best_relaxation)
    fmt::print("  most days would be gained without {}: {}\n", limit_in_words(unit, history.best_relaxation->limit),
               history.best_relaxation->gain_days);
}

}  // namespace

int run_history(const Arguments& call) {
  Errors mistakes;
  if (!call.has("--units")) mistakes.push_back(wrong_call("", "history needs --units FILE", "give the burn units as GeoJSON"));
  if (!call.has("--weather"))
    mistakes.push_back(wrong_call("", "history needs --weather FILE.csv", "give past hours as a table"));
  const std::string format = format_of_call(call, {"table", "csv", "json"}, mistakes);
  const auto from = date_of(call, "--from", mistakes), to = date_of(call, "--to", mistakes);
  if (from && to && *from > *to)
    mistakes.push_back(wrong_call("--from", "the first date is after the last", "put the earlier date first"));
  const std::vector<Unit> units = call.has("--units") ? units_of_call(call, mistakes) : std::vector<Unit>();
  if (!mistakes.empty()) return refused(mistakes);
  const CalledWeather weather = weather_of_call(call);
  if (weather.failed) return *weather.failed;

  if (format == "csv") fmt::print("unit,date,verdict\r\n");
  if (format == "json") fmt::print("{{\"units\":[");
  if (format == "table") fmt::print("Past days of {} unit{}\n", units.size(), units.size() == 1 ? "" : "s");
  for (std::size_t begin = 0; begin < units.size(); begin += kBatch) {
    std::vector<core::History> histories(std::min(kBatch, units.size() - begin));
    for_all(histories.size(), [&](std::size_t i) {
      const Unit& unit = units[begin + i];
      histories[i] = history_of(unit, unit_hours_of_tables(unit, weather.tables), from, to);
    });
    for (std::size_t i = 0; i < histories.size(); ++i) {
      const Unit& unit = units[begin + i];
      if (format == "json") {
        JsonWriter out;
        write_history(out, unit, histories[i]);
        fmt::print("{}{}", begin + i > 0 ? "," : "", out.str());
      } else if (format == "csv") {
        for (const auto& [date, verdict] : histories[i].dates)
          fmt::print("{},{},{}\r\n", unit.id, date_text(date), core::word(verdict));
      } else {
        print_table(unit, histories[i]);
      }
    }
  }
  if (format == "json") fmt::print("]}}\n");
  if (format == "table") fmt::print("\n{}", paragraph(kGuidance, 0));
  return kDone;
}

}  // namespace hakea::service
