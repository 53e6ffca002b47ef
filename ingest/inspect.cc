#include "ingest/inspect.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <string>

#include "core/weather/humidity.h"
#include "core/weather/wind.h"
#include "ingest/cf/alias_proposals.h"
#include "ingest/format/netcdf_file.h"
#include "ingest/run/variable.h"
#include "ingest/station/nearest.h"

namespace hakea::ingest {
namespace {

using core::Fed;

struct Counts {
  std::size_t values = 0, implausible = 0;
  double example = 0, as_stored = 0;  // an implausible value in the fed unit, and unpacked in the file's own
};

// The range of one field over its file, block by block. Errors: the first block that cannot be read.
Result<Counts> survey(const NetcdfFile& file, const FieldPlan& f, Inspection::Variable& out) {
  Counts counts;
  const auto shape = file.shape_of(f.variable);
  if (std::find(shape.begin(), shape.end(), std::size_t{0}) != shape.end()) return counts;
  // The last dimensions are read whole, as many as make up one block; the one before them in pieces, the others one by one.
  constexpr std::size_t kBlock = 4'000'000;
  std::size_t whole = shape.size(), block = 1;
  while (whole > 0 && shape[whole - 1] <= kBlock / block) block *= shape[--whole];
  std::vector<std::size_t> start(shape.size(), 0), count = shape;
  for (std::size_t i = 0; i < whole; ++i) count[i] = 1;
  double lowest = std::numeric_limits<double>::infinity(), highest = -lowest;
  const auto is_level_wanted = [&](std::size_t i) { return i >= f.level_of.size() || f.level_of[i] >= 0; };
  for (bool is_more = true; is_more;) {
    if (whole > 0) count[whole - 1] = std::min(kBlock / block, shape[whole - 1] - start[whole - 1]);
    const auto raw = file.read(f.variable, start, count);
    if (!raw) return raw.errors();
    std::size_t inner = 1;
    if (f.level_dim >= 0)
      for (std::size_t i = static_cast<std::size_t>(f.level_dim) + 1; i < shape.size(); ++i) inner *= count[i];
    for (std::size_t i = 0; i < raw->size(); ++i) {
      // A level that is not wanted is no part of the quantity.
      if (f.level_dim >= 0) {
        const auto d = static_cast<std::size_t>(f.level_dim);
        if (!is_level_wanted(start[d] + (i / inner) % count[d])) continue;
      }
      const double x = decoded(f.decoding, (*raw)[i]);
      ++counts.values;
      if (std::isnan(x)) {
        ++out.missing;
        const bool present = std::isfinite((*raw)[i]) && std::find(f.decoding.missing.begin(), f.decoding.missing.end(),
                                                                   (*raw)[i]) == f.decoding.missing.end();
        counts.implausible += present;
        if (present) {
          counts.as_stored = (*raw)[i] * f.decoding.scale + f.decoding.offset;
          counts.example = counts.as_stored * f.decoding.to_unit + f.decoding.unit_offset;
        }
      } else {
        lowest = std::min(lowest, x);
        highest = std::max(highest, x);
      }
    }
    is_more = false;
    for (std::size_t d = whole; d-- > 0 && !is_more;) {
      start[d] += count[d];
      is_more = start[d] < shape[d];
      if (!is_more) start[d] = 0;
    }
  }
  if (lowest <= highest) {
    out.min = lowest;
    out.max = highest;
  }
  return counts;
}

// What the values themselves say against a field: none plausible, or all alike where weather never is.
std::optional<Refusal> doubt(const std::string& path, const Inspection::Variable& v, Fed fed, const Counts& counts) {
  const auto& row = core::describe(fed);
  if (!v.min && counts.implausible > 0) {
    const std::string unit = unit_that_fits(fed, counts.as_stored);
    return Refusal{
        path, v.name,
        fmt::format("holds no plausible value: {:.6g} {} after conversion from its stated unit", counts.example, row.unit),
        unit.empty()
            ? "compare its values with what it should hold; a damaged file can read like this"
            : fmt::format("the stored {:.6g} would do in {}; if the stated unit is wrong, say so in the feed: {}",
                          counts.as_stored, unit, as_toml({{base_name(v.name), fmt::format("{} [{}]", row.key, unit)}}))};
  }
  const bool varies = fed == Fed::air_temperature || fed == Fed::dew_point_temperature || fed == Fed::surface_pressure ||
                      fed == Fed::level_temperature || fed == Fed::level_height;
  if (varies && v.min && *v.min == *v.max && counts.values - v.missing > 100)
    return Refusal{path, v.name, "has the same value everywhere, " + std::to_string(*v.min) + " " + std::string(row.unit),
                   "fetch the file again; a damaged file can read like this"};
  return std::nullopt;
}

bool has_profile(const std::set<Fed>& has) {
  return has.contains(Fed::level_temperature) && has.contains(Fed::level_height) &&
         (has.contains(Fed::level_relative_humidity) || has.contains(Fed::level_specific_humidity) ||
          has.contains(Fed::level_dew_point_temperature));
}

// Whether the file gives a fed quantity, itself or by what it follows from.
bool gives(const std::set<Fed>& has, Fed wanted) {
  const auto all = [&](std::initializer_list<Fed> list) {
    return std::all_of(list.begin(), list.end(), [&](Fed f) { return has.contains(f); });
  };
  if (has.contains(wanted)) return true;
  switch (wanted) {
    case Fed::relative_humidity:
    case Fed::dew_point_temperature:
      return all({Fed::air_temperature, Fed::relative_humidity}) || all({Fed::air_temperature, Fed::dew_point_temperature}) ||
             all({Fed::specific_humidity, Fed::surface_pressure});
    case Fed::wind_speed:
    case Fed::wind_from_direction: return all({Fed::eastward_wind, Fed::northward_wind}) || all({Fed::x_wind, Fed::y_wind});
    case Fed::level_relative_humidity:
      return has.contains(Fed::level_specific_humidity) || has.contains(Fed::level_dew_point_temperature);
    case Fed::mixing_height: return has_profile(has);
    default: return false;
  }
}

std::vector<QuantityNeeds> missing_for(const std::set<Fed>& has, std::span<const QuantityNeeds> quantities) {
  std::vector<QuantityNeeds> list;
  for (const QuantityNeeds& q : quantities) {
    QuantityNeeds missing{q.quantity, {}};
    for (const std::string& key : q.needs)
      if (const auto fed = core::fed_by_key(key); fed && !gives(has, *fed)) missing.needs.push_back(key);
    if (!missing.needs.empty()) list.push_back(std::move(missing));
  }
  return list;
}

// What would make a file acceptable that gives no quantity, and what of a file that gives some could give more: names for a
// feed's aliases, guessed from units and words, and what would still stand in the way.
void propose_aliases(const Feed& feed, const NetcdfFile& file, const std::set<Fed>& given, Inspection& out) {
  std::set<std::string> known;
  for (const Inspection::Variable& v : out.variables)
    if (!v.quantity.empty()) known.insert(v.name);
  for (const Refusal& r : out.refused) known.insert(r.variable);
  std::set<Fed> has = given;
  for (const core::FedVariable& row : core::fed_variables())
    if (gives(given, row.id)) has.insert(row.id);
  if (given.contains(Fed::x_wind)) has.insert({Fed::eastward_wind, Fed::northward_wind});
  if (given.contains(Fed::eastward_wind)) has.insert({Fed::x_wind, Fed::y_wind});
  // What a parameter of GRIB is, its number says, not its name.
  const auto proposals =
      file.format().starts_with("grib") ? std::vector<AliasProposal>() : alias_proposals(file, FileCoordinates(file), has, known);
  if (out.accepted && !proposals.empty())
    out.notes.push_back(
        fmt::format("more of the file can be read if that is what it holds; then say so in the feed: {}", as_toml(proposals)));
  if (out.accepted || !out.refused.empty()) return;
  std::string hint;
  if (proposals.empty()) {
    std::vector<std::string_view> keys;
    for (const auto& row : core::fed_variables()) keys.push_back(row.key);
    hint =
        fmt::format("if a variable of it is one of these, say so in the feed, as aliases = {{ \"NAME\" = \"KEY [unit]\" }}: {}",
                    fmt::join(keys, ", "));
  } else {
    Feed with = feed;
    for (const AliasProposal& p : proposals) with.aliases.emplace(p.variable, p.alias);
    hint = fmt::format("if these are what their names suggest, say so in the feed: {}", as_toml(proposals));
    const auto tried = plan_run(with, {out.file}, {});
    if (tried && tried->fields.empty() && !tried->refusals.empty())
      hint += fmt::format("; it would still be refused: {} {} ({})", tried->refusals.front().variable,
                          tried->refusals.front().why, tried->refusals.front().hint);
  }
  out.refused.push_back({out.file, "", "holds no quantity that is known here by its name", std::move(hint)});
}

// Values of the surface fields at one point, by the run's steps; of several stations that speak for it the nearest that has one.
Result<std::map<Fed, std::vector<double>>> values_at(const NetcdfFile& file, const RunPlan& plan) {
  std::map<Fed, std::vector<double>> values;
  std::vector<std::size_t> which;
  for (std::size_t f = 0; f < plan.fields.size(); ++f)
    if (!core::describe(plan.fields[f].fed).on_levels) {
      which.push_back(f);
      values.emplace(plan.fields[f].fed, std::vector<double>(plan.steps.size(), std::nan("")));
    }
  const std::vector<const NetcdfFile*> files{&file};
  const auto read = read_fields(files, plan.fields, which, plan.stencils,
                                {plan.steps.size(), plan.members, plan.levels_hpa.size()}, [&](Slab&& slab) {
                                  auto& to = values.at(plan.fields[slab.field].fed);
                                  const std::size_t points = slab.points->size(), stride = slab.members * slab.levels * points;
                                  for (std::size_t s = 0; s < slab.steps; ++s) {
                                    std::int32_t nearest = std::numeric_limits<std::int32_t>::max();
                                    for (std::size_t p = 0; p < points; ++p) {
                                      const float value = slab.values[s * stride + p];
                                      if (std::isnan(value) || (*slab.points)[p] >= nearest) continue;
                                      nearest = (*slab.points)[p];
                                      to[slab.first_step + s] = static_cast<double>(value);
                                    }
                                  }
                                });
  if (!read) return read.errors();
  // Energy counted over intervals becomes the mean of each.
  if (const auto sun = values.find(Fed::shortwave_radiation); sun != values.end())
    for (std::size_t f = 0; f < plan.fields.size(); ++f) {
      if (plan.fields[f].fed != Fed::shortwave_radiation || plan.accumulation[f] == Accumulation::none) continue;
      std::vector<double> mean(plan.steps.size(), std::nan(""));
      for (std::size_t k = 0; k < plan.steps.size(); ++k) {
        const StepTime& t = plan.field_times[f][k];
        const bool follows =
            plan.accumulation[f] == Accumulation::since_start && k > 0 && plan.field_times[f][k - 1].begin == t.begin;
        const double seconds = static_cast<double>((t.end - (follows ? plan.field_times[f][k - 1].end : t.begin)).count());
        if (seconds > 0) mean[k] = (sun->second[k] - (follows ? sun->second[k - 1] : 0)) / seconds;
      }
      sun->second = std::move(mean);
      break;
    }
  return values;
}

// Who speaks for a point, the nearest first.
std::string stations_in_words(const PointOfInterest& at, const RunPlan& plan) {
  std::vector<std::string> told;
  for (std::size_t s = 0; s < plan.stations.size(); ++s)
    told.push_back(fmt::format("{} ({:.1f} km)", plan.stations[s],
                               distance_km({at.latitude_deg, at.longitude_deg, 0},
                                           {plan.sampled_at[s].latitude_deg, plan.sampled_at[s].longitude_deg, 0})));
  if (told.empty()) return fmt::format("no station within {} km and {} m of height", kStationReachKm, kStationReachM);
  return fmt::format("as seen by {}", fmt::join(told, ", else by "));
}

// Wind and humidity in the catalogue's own terms, beside what the file gives.
void derive(std::map<Fed, std::vector<double>>& v, double rotation_deg) {
  using namespace core;
  const auto has = [&](Fed f) { return v.contains(f); };
  const bool along_grid = !has(Fed::eastward_wind) && has(Fed::x_wind) && has(Fed::y_wind);
  if (along_grid || (has(Fed::eastward_wind) && has(Fed::northward_wind))) {
    const auto& east = v[along_grid ? Fed::x_wind : Fed::eastward_wind];
    const auto& north = v[along_grid ? Fed::y_wind : Fed::northward_wind];
    std::vector<double> speed(east.size()), from(east.size());
    for (std::size_t i = 0; i < east.size(); ++i) {
      const Wind w =
          turned(wind_of({KilometresPerHour(east[i]), KilometresPerHour(north[i])}), Degrees(along_grid ? rotation_deg : 0));
      speed[i] = w.speed.value();
      from[i] = w.from.value();
    }
    if (!has(Fed::wind_speed)) v[Fed::wind_speed] = speed;
    if (!has(Fed::wind_from_direction)) v[Fed::wind_from_direction] = from;
  }
  if (!has(Fed::air_temperature)) return;
  const auto& t = v[Fed::air_temperature];
  if (!has(Fed::dew_point_temperature) &&
      (has(Fed::relative_humidity) || (has(Fed::specific_humidity) && has(Fed::surface_pressure)))) {
    std::vector<double> dew(t.size());
    for (std::size_t i = 0; i < t.size(); ++i)
      dew[i] = has(Fed::relative_humidity)
                   ? dew_point(AirAndHumidity{Celsius(t[i]), plausible_humidity(Percent(v[Fed::relative_humidity][i]))}).value()
                   : dew_point(vapour_pressure_of_specific_humidity(v[Fed::specific_humidity][i],
                                                                    Hectopascals(v[Fed::surface_pressure][i])))
                         .value();
    v[Fed::dew_point_temperature] = std::move(dew);
  }
  if (has(Fed::dew_point_temperature) && !has(Fed::relative_humidity)) {
    std::vector<double> humidity(t.size());
    for (std::size_t i = 0; i < t.size(); ++i)
      humidity[i] = relative_humidity(AirAndDew{Celsius(t[i]), Celsius(v[Fed::dew_point_temperature][i])}).value();
    v[Fed::relative_humidity] = std::move(humidity);
  }
}

}  // namespace

Inspection inspect(const Feed& feed, const std::string& path, std::optional<PointOfInterest> at,
                   std::span<const QuantityNeeds> quantities) {
  Inspection out;
  out.file = path;
  out.format = "unknown";
  std::vector<PointOfInterest> points;
  if (at) points.push_back(*at);
  auto file = NetcdfFile::open(path);
  auto plan = file ? plan_run(feed, {path}, points) : Result<RunPlan>(file.errors());
  if (!plan) {
    for (const Error& e : plan.errors()) out.refused.push_back({path, "", e.what, e.hint});
    return out;
  }
  out.format = file->format();
  out.refused = plan->refusals;
  out.notes = plan->notes;
  out.members = plan->members;
  std::set<Fed> has, dropped;
  for (const VariableReport& r : plan->variables) {
    Inspection::Variable v{r.name, r.quantity, r.unit, r.levels, {}, {}, 0};
    if (const auto fed = core::fed_by_key(r.quantity)) {
      v.unit = std::string(core::describe(*fed).unit);
      if (core::describe(*fed).kind == core::TimeKind::fixed) has.insert(*fed);
    }
    const auto index = file->find(r.name);
    for (const FieldPlan& f : plan->fields)
      if (index && f.variable == *index) {
        const std::size_t at_field = static_cast<std::size_t>(&f - plan->fields.data());
        if (f.fed == Fed::shortwave_radiation && plan->accumulation[at_field] != Accumulation::none) v.unit = "J m-2";
        if (plan->accumulation[at_field] == Accumulation::rate) v.unit = "mm h-1";
        const auto counts = survey(*file, f, v);
        auto refusal = counts ? doubt(path, v, f.fed, *counts)
                              : std::optional(Refusal{path, v.name, counts.error().what, counts.error().hint});
        if (refusal) {
          out.refused.push_back(std::move(*refusal));
          v.quantity.clear();
          dropped.insert(f.fed);
        } else {
          v.quantity = std::string(core::describe(f.fed).key);
          has.insert(f.fed);
        }
        break;
      }
    out.variables.push_back(std::move(v));
  }
  out.accepted = !has.empty();
  if (out.accepted && plan->fields.empty())
    out.notes.push_back("holds only what does not change: it can accompany a forecast, as a feed's orography or land_mask");
  propose_aliases(feed, *file, has, out);
  if (!plan->steps.empty()) {
    out.reference_time = plan->reference_time;
    out.times = {plan->steps.front(), plan->steps.back(), plan->steps.size(), std::nullopt};
    const auto hours = [&](std::size_t k) { return static_cast<double>((plan->steps[k] - plan->steps[k - 1]).count()) / 3600; };
    bool even = plan->steps.size() > 1;
    for (std::size_t k = 2; k < plan->steps.size(); ++k)
      even = even && plan->steps[k] - plan->steps[k - 1] == plan->steps[1] - plan->steps[0];
    if (even) out.times.step_h = hours(1);
  }
  if (!plan->fields.empty())
    out.grid = plan->grids[plan->fields.front().grid];
  else if (!plan->grids.empty())
    out.grid = plan->grids.front();
  out.missing_for = missing_for(has, quantities);

  if (at) {
    out.at = Inspection::At{at->latitude_deg, at->longitude_deg, {}, {}};
    auto values = values_at(*file, *plan);
    if (!values) {
      for (const Error& e : values.errors()) out.refused.push_back({path, "", e.where + ": " + e.what, e.hint});
      return out;
    }
    derive(*values, plan->wind_rotation_deg.empty() ? 0 : static_cast<double>(plan->wind_rotation_deg.front()));
    for (const auto& [fed, series] : *values) {
      if (dropped.contains(fed) && !has.contains(fed)) continue;
      auto& to = out.at->values[std::string(core::describe(fed).key)];
      for (const double x : series) to.push_back(static_cast<float>(x));
    }
    if (feed.observed) {
      out.at->note = stations_in_words(*at, *plan);
      return out;
    }
    const bool inside = !plan->fields.empty() && plan->stencils[plan->fields.front().grid].front().cells > 0;
    if (!inside) out.at->note = "outside the grid";
  }
  return out;
}

}  // namespace hakea::ingest
