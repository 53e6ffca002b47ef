// `hakea assess`: units and weather in, ranked days with reasons out.
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <future>

#include "core/base/nearest.h"
#include "core/catalogue/catalogue.h"
#include "service/base/clock.h"
#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/cli/feed_files.h"
#include "service/cli/inputs.h"
#include "service/cli/output.h"
#include "service/engine/arrivals.h"
#include "service/engine/run_weather.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

// Units are worked on and printed in batches, so that hours in print need not all stand in memory.
constexpr std::size_t kBatch = 256;

// What the call says, read and checked.
struct Inputs {
  std::vector<Unit> units;
  District district;
  std::optional<UtcTime> now;
  std::vector<std::size_t> quantities;
  std::unique_ptr<AnswerPrinter> printer;
  bool with_hours = false;
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

Inputs read_call(const Arguments& call, Errors& mistakes) {
  Inputs inputs;
  if (!call.has("--units")) mistakes.push_back(wrong_call("", "assess needs --units FILE", "give the burn units as GeoJSON"));
  if (call.has("--feed") == call.has("--weather"))
    mistakes.push_back(wrong_call("", call.has("--feed") ? "--feed and --weather are both given" : "assess needs weather",
                                  "give either --feed FILE|DIR or --weather FILE.csv"));
  if (call.has("--feed-config") && !call.has("--feed"))
    mistakes.push_back(wrong_call("--feed-config", "there is no feed to configure", "give --feed FILE|DIR"));
  const std::string format = call.one("--format", "table");
  if (format == "table")
    inputs.printer = table_printer();
  else if (format == "csv")
    inputs.printer = csv_printer();
  else if (format == "json")
    inputs.printer = json_printer();
  else
    mistakes.push_back(
        wrong_call("--format", fmt::format("\"{}\" is not a format of this command", format), "write table, csv or json"));
  if (call.has("--now")) {
    const auto now = parse_instant(call.one("--now"));
    if (now)
      inputs.now = *now;
    else
      mistakes.push_back(wrong_call("--now", now.error().what, now.error().hint));
  }
  inputs.with_hours = call.has("--hours");
  read_quantities(call.one("--quantities"), inputs.quantities, mistakes);
  if (call.has("--units")) inputs.units = units_of_call(call, mistakes);
  if (call.has("--district")) {
    const std::string path = call.one("--district");
    if (const auto text = taken(read_text_file(path), path, mistakes))
      if (auto district = taken(parse_district(*text, path), path, mistakes)) inputs.district = *std::move(district);
  }
  return inputs;
}

using SamplingOf = std::function<std::vector<SamplingNote>(const Unit&)>;

void answer(Inputs& inputs, AnswerHead head, UtcTime reference_time, const UnitWeather& weather, const SamplingOf& sampling) {
  head.generated_at = clock_time();
  for (RunNote& run : head.runs) run.computed_at = head.generated_at;
  head.unit_count = inputs.units.size();
  head.with_hours = inputs.with_hours;
  head.quantities = inputs.quantities;
  inputs.printer->begin(head);
  const bool has_run = !head.runs.empty();
  const AssessmentCall call{.now = head.now,
                            .reference_time = reference_time,
                            .feed = has_run ? head.runs.front().feed : "",
                            .run = has_run ? head.runs.front().id : "",
                            .keep_hours = inputs.with_hours,
                            .zone_of = zones_of(inputs.units)};
  // While a batch is printed the next is worked on.
  std::span<const Unit> left(inputs.units);
  const auto assess_next = [&] {
    const auto batch = left.first(std::min(kBatch, left.size()));
    left = left.subspan(batch.size());
    return std::async(std::launch::async, [&, batch] { return assess(batch, inputs.district, weather, call); });
  };
  for (auto next = assess_next(); next.valid();) {
    const std::vector<Outlook> outlooks = next.get();
    if (!left.empty()) next = assess_next();
    for (const Outlook& outlook : outlooks) inputs.printer->unit(outlook, sampling(*outlook.unit));
  }
  inputs.printer->end();
}

int assess_tables(const Arguments& call, Inputs& inputs) {
  const CalledWeather weather = weather_of_call(call);
  if (weather.failed) return *weather.failed;
  const UtcHour first = *first_hour_of(weather.tables);
  AnswerHead head;
  head.now = inputs.now.value_or(first.start());
  head.source = fmt::format("{}", fmt::join(call.all("--weather"), ", "));
  answer(inputs, std::move(head), inputs.now.value_or(first.start()), weather_of_tables(weather.tables),
         [](const Unit&) { return std::vector<SamplingNote>(); });
  return kDone;
}

int assess_feed(const Arguments& call, Inputs& inputs) {
  Errors mistakes;
  const auto feed = taken(feed_of_call(call.one("--feed-config")), call.one("--feed-config"), mistakes);
  const auto files = feed ? taken(files_of(call.all("--feed"), *feed), "--feed", mistakes) : std::nullopt;
  if (!files) {
    complain(mistakes);
    return kWrongCall;
  }
  const FeedRuns runs = runs_of(*feed, *files, inputs.now);
  complain(runs.left_out);
  if (runs.files.empty()) {
    complain({ErrorKind::incomplete, "no_run", "--feed", "none of the files could be read as part of a forecast run",
              "`hakea inspect FILE` says what is in a file"});
    return kFailed;
  }
  std::vector<core::Site> points;
  std::vector<std::size_t> first_point;
  for (const Unit& unit : inputs.units) {
    first_point.push_back(points.size());
    for (const core::UnitTraits& point : unit.points) points.push_back(point.site);
  }
  const auto read = RunWeather::read(*feed, runs.files, points, {.all_members = true, .limits = {}});
  if (!read) {
    complain(read.errors());
    return kFailed;
  }
  complain(read->left_out());
  for (const ingest::Refusal& refusal : read->newest().refusals)
    complain({ErrorKind::unsupported, "refused", refusal.variable.empty() ? refusal.file : refusal.file + ": " + refusal.variable,
              refusal.why, refusal.hint});

  const std::vector<ingest::PointOfInterest>& sampled = read->newest().sampled_at;
  for (std::size_t u = 0; u < inputs.units.size() && !sampled.empty(); ++u) {
    const auto has_no_cell = [](const ingest::PointOfInterest& p) { return std::isnan(p.latitude_deg); };
    const auto first = sampled.begin() + static_cast<std::ptrdiff_t>(first_point[u]),
               end = first + static_cast<std::ptrdiff_t>(inputs.units[u].points.size());
    if (std::all_of(first, end, has_no_cell))
      complain({ErrorKind::incomplete, "outside_grid", inputs.units[u].id,
                "lies outside the grid of the forecast, so its days are unknown",
                "give a feed that covers it, or check its position"});
  }

  const UtcTime reference_time = read->newest().reference_time;
  const auto first_point_of = [&](const Unit& unit) {
    return first_point[static_cast<std::size_t>(&unit - inputs.units.data())];
  };
  const UnitWeather weather = [&](const Unit& unit) {
    std::vector<std::vector<core::UnitHours>> hours(unit.points.size());
    for (std::size_t p = 0; p < unit.points.size(); ++p)
      for (std::size_t member = 0; member < read->members(); ++member) {
        hours[p].push_back(read->unit_hours(first_point_of(unit) + p, member, unit.points[p]));
        hours[p].back().initial_state = unit.initial_state;
      }
    return hours;
  };
  const SamplingOf sampling = [&](const Unit& unit) {
    std::vector<SamplingNote> notes;
    const ingest::RunPlan& plan = read->newest();
    for (std::size_t p = 0; p < unit.points.size(); ++p) {
      const std::size_t at = first_point_of(unit) + p;
      SamplingNote note{feed->id, unit.points[p].site.latitude_deg, unit.points[p].site.longitude_deg, Metres(),
                        unit.points[p].site.elevation};
      if (at < plan.sampled_at.size()) {
        note.latitude_deg = plan.sampled_at[at].latitude_deg;
        note.longitude_deg = plan.sampled_at[at].longitude_deg;
      }
      if (at < plan.model_elevation_m.size()) note.model_elevation = Metres(static_cast<double>(plan.model_elevation_m[at]));
      notes.push_back(note);
    }
    return notes;
  };
  AnswerHead head;
  head.now = inputs.now.value_or(reference_time);
  for (auto time = runs.reference_times.rbegin(); time != runs.reference_times.rend(); ++time)
    head.runs.push_back({.id = run_id(feed->id, *time),
                         .feed = feed->id,
                         .reference_time = *time,
                         .received_at = {},
                         .computed_at = {},
                         .next_expected = {}});
  head.source = fmt::format("{}", fmt::join(runs.files.back(), ", "));
  answer(inputs, std::move(head), reference_time, weather, sampling);
  return kDone;
}

}  // namespace

int run_assess(const Arguments& call) {
  Errors mistakes;
  Inputs inputs = read_call(call, mistakes);
  if (!mistakes.empty()) {
    complain(mistakes);
    return kWrongCall;
  }
  complain(stops_of_nobody(inputs.district, inputs.units), call.one("--district"));
  return call.has("--feed") ? assess_feed(call, inputs) : assess_tables(call, inputs);
}

}  // namespace hakea::service
