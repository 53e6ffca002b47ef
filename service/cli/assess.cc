// `hakea assess`: units and weather in, ranked days with reasons out.
#include <fmt/format.h>
#include <malloc.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <deque>
#include <future>

#include "core/base/nearest.h"
#include "core/catalogue/catalogue.h"
#include "service/base/clock.h"
#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/cli/feed_files.h"
#include "service/cli/feed_weather.h"
#include "service/cli/inputs.h"
#include "service/cli/output.h"
#include "service/cli/progress.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

// What the call says, read and checked.
struct Inputs {
  std::vector<Unit> units;
  std::string units_text;
  District district;
  std::optional<std::vector<ingest::Feed>> feeds;  // without a weather table
  // Looked for while the units are read, even where these are refused.
  std::future<Result<std::vector<FeedRuns>>> runs;
  std::optional<UtcTime> now;
  std::vector<std::size_t> quantities;
  std::unique_ptr<AnswerPrinter> printer;
  bool with_hours = false;
  TerminalLine line;     // how far it is
  double reading_s = 0;  // what the files took
};

void read_quantities(const std::string& list, std::vector<std::size_t>& chosen, Errors& mistakes) {
  std::vector<std::string_view> keys;
  for (const auto& row : core::catalogue()) keys.push_back(row.key);
  std::size_t begin = 0;
  while (begin <= list.size() && !list.empty()) {
    const std::size_t end = std::min(list.find(',', begin), list.size());
    const std::string key = list.substr(begin, end - begin);
    begin = end + 1;
    if (const auto index = core::find_quantity(key)) {
      if (std::find(chosen.begin(), chosen.end(), *index) == chosen.end()) chosen.push_back(*index);  // each once
    } else {
      const std::string_view near = nearest(key, keys);
      mistakes.push_back(wrong_call("--quantities", fmt::format("the quantity \"{}\" is not known", key),
                                    near.empty() ? "`hakea quantities` lists them" : fmt::format("did you mean {}?", near)));
    }
  }
}

// Whether a configuration says itself where the files of its feeds are.
bool name_folders(const std::vector<ingest::Feed>& feeds) {
  return !feeds.empty() && std::none_of(feeds.begin(), feeds.end(), [](const ingest::Feed& feed) { return feed.path.empty(); });
}

Inputs read_call(const Arguments& call, Errors& mistakes) {
  Inputs inputs;
  if (!call.has("--units")) mistakes.push_back(wrong_call("", "assess needs --units FILE", "give the burn units as GeoJSON"));
  if (call.has("--feed") && call.has("--weather"))
    mistakes.push_back(
        wrong_call("", "--feed and --weather are both given", "give either --feed FILE|DIR or --weather FILE.csv"));
  if (!call.has("--weather")) {
    if (auto feeds = feeds_of_call(call.one("--feed-config")))
      inputs.feeds = *std::move(feeds);
    else
      mistakes.insert(mistakes.end(), feeds.errors().begin(), feeds.errors().end());
  }
  const bool feeds_are_known = !inputs.feeds || name_folders(*inputs.feeds);  // or what is wrong with them is told
  if (!call.has("--feed") && !call.has("--weather") && !feeds_are_known)
    mistakes.push_back(call.has("--feed-config")
                           ? wrong_call("--feed-config", "there is no feed to configure", "give --feed FILE|DIR")
                           : wrong_call("", "assess needs weather", "give either --feed FILE|DIR or --weather FILE.csv"));
  if (call.has("--weather") && call.has("--feed-config"))
    mistakes.push_back(wrong_call("--feed-config", "there is no feed to configure", "give --feed FILE|DIR"));
  const std::string format = format_of_call(call, {"table", "csv", "json"}, mistakes);
  inputs.printer = format == "json" ? json_printer() : format == "csv" ? csv_printer() : table_printer();
  if (call.has("--now")) {
    const auto now = parse_instant(call.one("--now"));
    if (now)
      inputs.now = *now;
    else
      mistakes.push_back(wrong_call("--now", now.error().what, now.error().hint));
  }
  inputs.with_hours = call.has("--hours");
  read_quantities(call.one("--quantities"), inputs.quantities, mistakes);
  if (inputs.feeds && mistakes.empty())
    inputs.runs = std::async(std::launch::async, [feeds = *inputs.feeds, paths = call.all("--feed"), now = inputs.now] {
      return runs_of_call(feeds, paths, now);
    });
  if (call.has("--units")) inputs.units = units_of_call(call, mistakes, &inputs.units_text);
  if (call.has("--district")) {
    const std::string path = call.one("--district");
    if (const auto text = taken(read_text_file(path), path, mistakes))
      if (auto district = taken(parse_district(*text, path), path, mistakes)) inputs.district = *std::move(district);
  }
  return inputs;
}

using SamplingOf = std::function<std::vector<SamplingNote>(const Unit&)>;
using WeatherOfBatch = std::function<Result<UnitWeather>(std::size_t first_unit)>;

// Fuel that has burnt since it was described is as old as it is now.
void count_fuel_ages(Inputs& inputs, UtcTime now) {
  if (!tells_age_of_a_date(inputs.units_text)) return;
  const auto aged = parse_units_at(now, inputs.units_text, built_in_fuels());
  for (std::size_t u = 0; aged && u < inputs.units.size(); ++u) {
    inputs.units[u].traits.fuel = (*aged)[u].traits.fuel;
    for (core::UnitTraits& point : inputs.units[u].points) point.fuel = (*aged)[u].traits.fuel;
  }
}

// Units are worked on and printed in batches, so that neither their weather nor hours in print need all stand in memory.
int answer(Inputs& inputs, AnswerHead head, const WeatherOfBatch& weather, const SamplingOf& sampling) {
  head.generated_at = clock_time();
  count_fuel_ages(inputs, head.now);
  for (RunNote& run : head.runs) run.computed_at = head.generated_at;
  head.unit_count = inputs.units.size();
  head.with_hours = inputs.with_hours;
  head.quantities = inputs.quantities;
  inputs.printer->begin(head);
  const Stopwatch judging;
  std::size_t judged = 0;
  const bool is_printed_elsewhere = ::isatty(STDOUT_FILENO) != 1;  // else the units that appear say it
  const std::string of_run =
      head.runs.empty() ? "" : fmt::format("{} read in {:.2f} s, ", head.runs.front().id, inputs.reading_s);
  AssessmentCall call{
      .now = head.now, .reference_time = head.now, .keep_hours = inputs.with_hours, .zone_of = zones_of(inputs.units)};
  for (const Unit& unit : inputs.units) call.neighbours.add(unit);
  // While a batch is printed the next two are worked on: one alone would leave a processor idle at its end.
  const std::span<const Unit> units(inputs.units);
  const auto assess_from = [&](std::size_t first) {
    return std::async(std::launch::async, [&, first]() -> Result<std::vector<Outlook>> {
      const auto of_batch = weather(first);
      if (!of_batch) return of_batch.errors();
      return assess(units.subspan(first, std::min(FeedWeather::kBatch, units.size() - first)), inputs.district, *of_batch, call);
    });
  };
  constexpr std::size_t kAhead = 2 * FeedWeather::kBatch;
  std::deque<std::future<Result<std::vector<Outlook>>>> ahead;
  ahead.push_back(assess_from(0));
  if (FeedWeather::kBatch < units.size()) ahead.push_back(assess_from(FeedWeather::kBatch));
  for (std::size_t first = 0; first < units.size() || first == 0; first += FeedWeather::kBatch) {
    const auto outlooks = ahead.front().get();
    ahead.pop_front();
    if (!outlooks) {
      inputs.line.clear();
      complain(outlooks.errors());
      return kFailed;
    }
    if (first + kAhead < units.size()) ahead.push_back(assess_from(first + kAhead));
    for (const Outlook& outlook : *outlooks)
      inputs.printer->unit(outlook, inputs.with_hours ? sampling(*outlook.unit) : std::vector<SamplingNote>());
    judged += outlooks->size();
    if (is_printed_elsewhere && judged > 0)
      inputs.line.show("judging", static_cast<double>(judged) / static_cast<double>(units.size()));
  }
  inputs.printer->end();
  std::fflush(stdout);
  inputs.line.leave(
      fmt::format("{}{} {} judged in {:.2f} s", of_run, units.size(), units.size() == 1 ? "unit" : "units", judging.seconds()));
  return kDone;
}

int assess_tables(const Arguments& call, Inputs& inputs) {
  const CalledWeather weather = weather_of_call(call);
  if (weather.failed) return *weather.failed;
  const UtcHour first = *first_hour_of(weather.tables);
  AnswerHead head;
  head.now = inputs.now.value_or(first.start());
  head.source = fmt::format("{}", fmt::join(call.all("--weather"), ", "));
  return answer(
      inputs, std::move(head), [&](std::size_t) { return weather_of_tables(weather.tables); },
      [](const Unit&) { return std::vector<SamplingNote>(); });
}

int assess_feeds(Inputs& inputs) {
  const Stopwatch reading;
  auto runs = inputs.runs.get();
  if (!runs) return refused(runs.errors());
  const auto weather = FeedWeather::read(*inputs.feeds, *std::move(runs), inputs.units, inputs.with_hours, inputs.line);
  if (!weather) return failed(weather.errors());
  inputs.reading_s = reading.seconds();
  AnswerHead head;
  head.now = inputs.now.value_or(weather->newest());
  head.runs = weather->runs();
  head.source = weather->source();
  return answer(
      inputs, std::move(head), [&](std::size_t first) { return weather->weather_of_batch(first); },
      [&](const Unit& unit) { return weather->sampling(unit); });
}

}  // namespace

int run_assess(const Arguments& call) {
  // What one batch of units lets go of the next needs: given back to the system, its pages would be cleared again each time.
  mallopt(M_MMAP_THRESHOLD, 32 << 20);
  mallopt(M_TRIM_THRESHOLD, 512 << 20);
  Errors mistakes;
  Inputs inputs = read_call(call, mistakes);
  if (!mistakes.empty()) return refused(mistakes);
  complain(stops_of_nobody(inputs.district, inputs.units), call.one("--district"));
  return call.has("--weather") ? assess_tables(call, inputs) : assess_feeds(inputs);
}

}  // namespace hakea::service
