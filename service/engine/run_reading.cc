#include "service/engine/run_reading.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <limits>
#include <set>

#include "service/engine/grid_points.h"
#include "service/engine/run_weather.h"
#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

using core::Fed;

constexpr std::size_t kUnitsAtOnce = 64;  // units whose series are made of a large run at a time

// What a feed may bring instead of a quantity: any one of these sets will do.
std::vector<std::vector<Fed>> ways_to(const std::string& key) {
  if (key == "relative_humidity" || key == "dew_point_temperature")
    return {{Fed::dew_point_temperature}, {Fed::relative_humidity}, {Fed::specific_humidity}};
  if (key == "wind_speed" || key == "wind_from_direction")
    return {{Fed::wind_speed, Fed::wind_from_direction}, {Fed::eastward_wind, Fed::northward_wind}, {Fed::x_wind, Fed::y_wind}};
  if (key == "mixing_height") return {{Fed::mixing_height}, {Fed::level_temperature}};
  if (const auto fed = core::fed_by_key(key)) return {{*fed}};
  return {};
}

// Lead hours 31, 32, 33, 40 as "31-33, 40".
std::string spans(const std::vector<int>& leads) {
  std::string text;
  for (std::size_t i = 0; i < leads.size();) {
    std::size_t last = i;
    while (last + 1 < leads.size() && leads[last + 1] == leads[last] + 1) ++last;
    text += fmt::format("{}{}{}", text.empty() ? "" : ", ", leads[i], last > i ? fmt::format("-{}", leads[last]) : "");
    i = last + 1;
  }
  return text;
}

// Lead hours at which a field has a step: the instant, or the end of an amount's interval. A step at which all points are
// missing does not count.
class StepsAtHand {
 public:
  StepsAtHand(const ingest::RunPlan& plan, std::size_t points) : plan_(plan), has_value_(plan.fields.size()) {
    for (auto& steps : has_value_) steps.assign(plan.steps.size(), points == 0);
  }
  void see(const ingest::Slab& slab) {
    const std::size_t per_step = slab.members * slab.levels * slab.points->size();
    for (std::size_t s = 0; s < slab.steps; ++s) {
      if (has_value_[slab.field][slab.first_step + s]) continue;
      const auto begin = slab.values.begin() + static_cast<std::ptrdiff_t>(s * per_step);
      has_value_[slab.field][slab.first_step + s] =
          std::any_of(begin, begin + static_cast<std::ptrdiff_t>(per_step), [](float v) { return !std::isnan(v); });
    }
  }
  std::set<int> leads(Fed fed) const {
    std::set<int> leads;
    for (std::size_t f = 0; f < plan_.fields.size(); ++f) {
      if (plan_.fields[f].fed != fed) continue;
      for (std::size_t s = 0; s < plan_.steps.size(); ++s)
        if (has_value_[f][s] && plan_.field_times[f][s].end != UtcTime::min())
          leads.insert(static_cast<int>(
              std::chrono::floor<std::chrono::hours>(plan_.field_times[f][s].end - plan_.reference_time).count()));
    }
    return leads;
  }

 private:
  const ingest::RunPlan& plan_;
  std::vector<std::vector<bool>> has_value_;
};

std::vector<std::string> what_is_lacking(const ingest::Feed& feed, const ingest::RunPlan& plan, const StepsAtHand& steps) {
  std::vector<std::string> lacks;
  if (feed.members > 0 && plan.members < static_cast<std::size_t>(feed.members))
    lacks.push_back(fmt::format("{} of {} members", static_cast<std::size_t>(feed.members) - plan.members, feed.members));
  std::map<std::string, std::vector<std::string>> keys_by_leads;  // so that one gap of all quantities is said once
  // Where the feed names no quantity, each one it brings is to be there at every step.
  std::vector<std::string> required = feed.quantities;
  if (required.empty()) {
    std::set<std::string> brought;
    for (const ingest::FieldPlan& field : plan.fields)
      if (core::describe(field.fed).kind != core::TimeKind::fixed) brought.emplace(core::describe(field.fed).key);
    required.assign(brought.begin(), brought.end());
  }
  for (const std::string& key : required) {
    std::set<int> at_hand;
    bool is_amount = false;
    for (const auto& way : ways_to(key)) {
      std::set<int> all = steps.leads(way.front());
      for (const Fed fed : way) {
        std::set<int> both;
        const std::set<int> other = steps.leads(fed);
        std::set_intersection(all.begin(), all.end(), other.begin(), other.end(), std::inserter(both, both.end()));
        all = std::move(both);
        is_amount = is_amount || core::describe(fed).kind != core::TimeKind::instant;
      }
      at_hand.insert(all.begin(), all.end());
    }
    std::vector<int> missing;
    if (feed.hours) {
      for (int lead = feed.hours->first; lead <= feed.hours->last; lead += feed.hours->step)
        if (!(is_amount && lead == feed.hours->first) && !at_hand.contains(lead)) missing.push_back(lead);
      if (!missing.empty()) keys_by_leads["hours " + spans(missing)].push_back(key);
    } else if (at_hand.empty()) {
      keys_by_leads["all hours"].push_back(key);
    }
  }
  for (const auto& [leads, keys] : keys_by_leads)
    lacks.push_back(
        fmt::format("{} of {}", leads, keys.size() == required.size() ? "everything" : fmt::format("{}", fmt::join(keys, ", "))));
  return lacks;
}

// Whether a run's fields make up a quantity of kPointQuantities.
bool has_quantity(const std::set<Fed>& brought, const std::string& key) {
  const auto has_all = [&](const std::vector<Fed>& way) {
    return std::all_of(way.begin(), way.end(), [&](Fed fed) { return brought.contains(fed); });
  };
  if (key == "vapour_pressure_deficit")
    return has_quantity(brought, "air_temperature") && has_quantity(brought, "relative_humidity");
  if (key.starts_with("transport_wind"))
    return brought.contains(Fed::level_temperature) &&
           (has_all({Fed::level_eastward_wind, Fed::level_northward_wind}) || has_all({Fed::level_x_wind, Fed::level_y_wind}));
  const auto ways = ways_to(key);
  return std::any_of(ways.begin(), ways.end(), has_all);
}

// West and east of a grid, from -180 to 180; west is greater where it crosses 180°.
std::pair<double, double> sides_of(const ingest::GridReport& grid) {
  const auto turned = [](double degrees) { return degrees > 180 ? degrees - 360 : degrees < -180 ? degrees + 360 : degrees; };
  const double spacing = grid.nx > 1 ? (grid.east - grid.west) / static_cast<double>(grid.nx - 1) : 0;
  if (grid.east - grid.west + spacing >= 360) return {-180, 180};
  return {turned(grid.west), turned(grid.east)};
}

// Where and when the run can be asked at any point (grid_points.h); nothing for what is no grid.
void write_grid(JsonWriter& out, const ingest::Feed& feed, const ingest::RunPlan& plan) {
  std::set<Fed> brought;
  for (const ingest::FieldPlan& field : plan.fields) brought.insert(field.fed);
  ingest::RunHours hours = ingest::hours_of(plan);
  if (feed.hours) {  // what lies before or beyond the feed's lead hours is another feed's to say
    const UtcHour issued = UtcHour::of(plan.reference_time);
    const UtcHour first = feed.hours->first > 0 ? std::max(hours.first, issued + feed.hours->first) : hours.first,
                  end = std::min(hours.first + static_cast<int>(hours.hours), issued + feed.hours->last + 1);
    hours = {first, first < end ? static_cast<std::size_t>(end - first) : 0};
  }
  if (feed.observed || plan.grids.empty() || hours.hours == 0) return;
  const ingest::GridReport& grid = plan.grids.front();
  const auto [west, east] = sides_of(grid);
  out.key("grid").begin_object().text("first", utc_text(hours.first.start())).whole("hours", static_cast<long long>(hours.hours));
  out.number("west", west).number("south", grid.south).number("east", east).number("north", grid.north);
  out.key("quantities").begin_list();
  for (const std::string_view key : kPointQuantities)
    if (has_quantity(brought, std::string(key))) out.text(key);
  out.end_list().end_object();
}

std::string details_json(const ingest::Feed& feed, const ingest::RunPlan& newest, const RunWeather& weather,
                         const std::vector<ingest::Refusal>& refusals, const std::vector<std::string>& lacks) {
  JsonWriter out;
  out.begin_object();
  out.key("files").begin_list();
  for (const auto& [plan, quality] : weather.qualities())
    for (const std::string& file : plan->files) out.text(file);
  out.end_list();
  write_grid(out, feed, newest);
  out.texts("lacks", lacks).key("refused").begin_list();
  for (const ingest::Refusal& refusal : refusals)
    out.begin_object()
        .text("file", refusal.file)
        .text("variable", refusal.variable)
        .text("why", refusal.why)
        .text("hint", refusal.hint)
        .end_object();
  out.end_list();
  out.key("notes").begin_list();
  for (const auto& [plan, quality] : weather.qualities())
    for (const std::string& note : plan->notes) out.text(note);
  out.end_list();
  out.key("quality").begin_list();
  for (const auto& [plan, quality] : weather.qualities())
    for (std::size_t f = 0; f < quality->size() && f < plan->fields.size(); ++f)
      out.begin_object()
          .text("quantity", core::describe(plan->fields[f].fed).key)
          .whole("values", static_cast<long long>((*quality)[f].values))
          .whole("missing", static_cast<long long>((*quality)[f].missing))
          .whole("implausible", static_cast<long long>((*quality)[f].implausible))
          .end_object();
  out.end_list();
  out.end_object();
  return out.str();
}

}  // namespace

Result<ReadRun> read_run_for(const ingest::Feed& feed, const ArrivedRun& run, const std::vector<const Unit*>& units,
                             SeriesShelf& shelf, std::size_t held, const TellShare& tell) {
  std::vector<core::Site> sites;
  std::vector<std::size_t> block_ends, first_point;
  for (const Unit* unit : units) {
    if (!first_point.empty() && first_point.size() % kUnitsAtOnce == 0) block_ends.push_back(sites.size());
    first_point.push_back(sites.size());
    for (const core::UnitTraits& point : unit->points) sites.push_back(point.site);
  }
  block_ends.push_back(sites.size());
  ingest::RunPlan plan;
  std::optional<StepsAtHand> steps;
  RunReading how{.all_members = true, .block_ends = block_ends, .limits = {}};
  how.on_plan = [&](const ingest::RunPlan& received) {
    plan = received;
    steps.emplace(plan, sites.size());
  };
  how.on_slab = [&](const ingest::Slab& slab) { steps->see(slab); };
  how.tell = [&](std::size_t number, std::size_t of, double share) {
    if (tell) tell((static_cast<double>(number - 1) + share) / static_cast<double>(of));
  };
  std::vector<std::vector<std::string>> files{run.files};
  if (feed.observed) {  // every station file by itself
    files.clear();
    for (const std::string& file : run.files) files.push_back({file});
  }
  const auto weather = RunWeather::read(feed, files, sites, how, run.order);
  if (!weather) return weather.errors();

  ReadRun read;
  if (!feed.observed) read.lacks = what_is_lacking(feed, plan, *steps);  // a station need not see everything, nor lie near
  std::vector<ingest::Refusal> refusals;
  for (const auto& [of_run, quality] : weather->qualities())
    refusals.insert(refusals.end(), of_run->refusals.begin(), of_run->refusals.end());
  for (const Error& error : weather->left_out()) refusals.push_back({error.where, "", error.what, error.hint, error.code});
  for (const ingest::Refusal& refusal : refusals) {
    // One station whose file is damaged does not silence the others.
    if (!refusal.variable.empty() || (feed.observed && !may_pass(refusal.code))) continue;
    read.may_lack_less = read.may_lack_less || may_pass(refusal.code);
    read.lacks.push_back(fmt::format("the file {}: {}", std::filesystem::path(refusal.file).filename().string(), refusal.why));
  }
  read.details = details_json(feed, plan, *weather, refusals, read.lacks);
  for (std::size_t block = 0; block < block_ends.size(); ++block) {
    const auto runs = weather->block(block);
    if (!runs) return runs.errors();
    for (std::size_t u = block * kUnitsAtOnce; u < std::min(units.size(), (block + 1) * kUnitsAtOnce); ++u) {
      const auto at_unit = runs->at(*units[u], first_point[u]);
      auto mine = std::make_shared<UnitRun>(feed.observed ? joined(at_unit, *units[u]) : *at_unit.back());
      mine->id = run.id;  // as its files were sorted
      mine->reference_time = run.reference_time;
      if (!feed.observed && mine->members() > 1 && mine->members() * sites.size() > held) {
        auto rest = put_aside(*mine, shelf);
        if (!rest) return rest.errors();
        *mine = *std::move(rest);
      }
      read.units.emplace(units[u]->id, std::move(mine));
    }
  }
  return read;
}

}  // namespace hakea::service
