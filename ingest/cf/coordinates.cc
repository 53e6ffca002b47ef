#include "ingest/cf/coordinates.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <sstream>

#include "core/base/numbers.h"
#include "core/base/words.h"
#include "ingest/cf/time_axis.h"
#include "ingest/cf/units.h"

namespace hakea::ingest {
namespace {

std::vector<std::string> words(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> list;
  for (std::string w; in >> w;) list.push_back(w);
  return list;
}

bool one_of(std::string_view word, std::initializer_list<std::string_view> list) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

// degrees_north, degreeN, Degrees_N and the like (CF 4.1, 4.2, in any case).
bool is_degrees(const std::string& units, char towards) {
  const std::string u = lower(units);
  for (const char* stem : {"degrees_", "degree_", "degrees", "degree", "deg_"})
    for (const std::string& end : {std::string(towards == 'n' ? "north" : "east"), std::string(1, towards)})
      if (u == stem + end) return true;
  return false;
}

bool is_latitude(const Variable& v) {
  const std::string name = lower(base_name(v.name));
  if (v.text("standard_name") == "latitude" || is_degrees(unit_text(v), 'n')) return v.text("standard_name") != "grid_latitude";
  return v.text("standard_name").empty() && one_of(name, {"lat", "latitude", "xlat", "nav_lat"}) &&
         (unit_text(v).empty() || unit_text(v).starts_with("deg"));
}

bool is_longitude(const Variable& v) {
  const std::string name = lower(base_name(v.name));
  if (v.text("standard_name") == "longitude" || is_degrees(unit_text(v), 'e')) return v.text("standard_name") != "grid_longitude";
  return v.text("standard_name").empty() && one_of(name, {"lon", "long", "longitude", "xlong", "nav_lon"}) &&
         (unit_text(v).empty() || unit_text(v).starts_with("deg"));
}

bool is_axis(const Variable& v, char axis) {
  const std::string standard = v.text("standard_name"), name = lower(base_name(v.name));
  const bool y = axis == 'y';
  if (one_of(standard, {y ? "projection_y_coordinate" : "projection_x_coordinate", y ? "grid_latitude" : "grid_longitude",
                        y ? "y coordinate of projection" : "x coordinate of projection"}))
    return true;
  if (lower(v.text("axis")) == std::string(1, axis)) return true;
  return standard.empty() && one_of(name, {y ? "y" : "x", y ? "rlat" : "rlon", y ? "yc" : "xc"});
}

bool names_members(std::string_view name) {
  std::string word = lower(base_name(name));
  word.resize(word.find_last_not_of("0123456789") + 1);  // "ens1" beside "ens", as converters number them
  return one_of(word, {"realization", "number", "member", "members", "ensemble", "ensemble_member", "ens", "mem"});
}

// An instant so long after another; none where the number is no length of a forecast.
std::optional<UtcTime> after(const std::optional<UtcTime>& start, double seconds) {
  constexpr double kLongest = 4e11;
  if (!start || !(std::abs(seconds) < kLongest)) return std::nullopt;
  return *start + std::chrono::seconds(std::llround(seconds));
}

bool is_dated_by_name(const Variable& v) {
  const std::string text = v.text("long_name");
  const auto from = text.rfind("from ");
  return from != std::string::npos && seconds_of_unit(unit_text(v)) &&
         parse_time_unit(unit_text(v) + " since " + text.substr(from + 5), v.text("calendar"));
}

bool is_member(const Variable& v) { return v.text("standard_name") == "realization" || names_members(v.name); }

}  // namespace

std::string base_name(std::string_view name) {
  const auto slash = name.rfind('/');
  return std::string(slash == std::string_view::npos ? name : name.substr(slash + 1));
}

std::string unit_text(const Variable& v) { return v.attribute("units") ? v.text("units") : v.text("unit"); }

FileCoordinates::FileCoordinates(const NetcdfFile& file, std::string time_unit) : file_(file), time_unit_(std::move(time_unit)) {
  const auto& variables = file_.variables();
  for (std::size_t i = 0; i < variables.size(); ++i) {
    const Variable& v = variables[i];
    if (v.dimensions.size() == 1 && base_name(file_.dimensions()[v.dimensions[0]].name) == base_name(v.name))
      coordinates_.insert(i);
    if (is_latitude(v) || is_longitude(v) || v.attribute("grid_mapping_name") || (v.dimensions.empty() && is_member(v)))
      coordinates_.insert(i);
    for (const char* attribute : {"coordinates", "bounds", "climatology", "ancillary_variables"})
      for (const std::string& word : words(v.text(attribute)))
        if (const auto c = file_.resolve(i, word)) coordinates_.insert(*c);
    if (v.attribute("grid_mapping"))
      for (std::string word : words(v.text("grid_mapping"))) {
        if (word.ends_with(':')) word.pop_back();
        if (const auto c = file_.resolve(i, word)) coordinates_.insert(*c);
      }
  }
  find_times();
}

bool FileCoordinates::dimensions_within(std::size_t coordinate, std::size_t variable) const {
  const auto& outer = file_.variables()[variable].dimensions;
  for (const std::size_t d : file_.variables()[coordinate].dimensions)
    if (file_.dimensions()[d].length != 1 && std::find(outer.begin(), outer.end(), d) == outer.end()) return false;
  return true;
}

std::vector<std::size_t> FileCoordinates::associated(std::size_t variable) const {
  std::vector<std::size_t> list;
  const auto add = [&](std::optional<std::size_t> c) {
    if (c && *c != variable && std::find(list.begin(), list.end(), *c) == list.end()) list.push_back(*c);
  };
  const Variable& v = file_.variables()[variable];
  for (const std::string& word : words(v.text("coordinates"))) add(file_.resolve(variable, word));
  for (const std::size_t d : v.dimensions) add(file_.resolve(variable, base_name(file_.dimensions()[d].name)));
  for (const std::size_t c : coordinates_) add(c);
  std::erase_if(list, [&](std::size_t c) { return !dimensions_within(c, variable); });
  return list;
}

std::vector<double> FileCoordinates::numbers(std::size_t variable) const {
  const Variable& v = file_.variables()[variable];
  if (v.type == ValueType::text || v.type == ValueType::other || !v.unreadable.empty() || file_.size_of(variable) > 100'000'000)
    return {};
  auto raw = file_.read_all(variable);
  if (!raw) return {};
  const double scale = v.number("scale_factor").value_or(1), offset = v.number("add_offset").value_or(0),
               span = v.unsigned_span();
  for (double& x : *raw) {
    for (const char* attribute : {"_FillValue", "missing_value"})
      if (const Attribute* a = v.attribute(attribute))
        for (const double stated : a->numbers) {
          const double missing = stated < 0 ? stated + span : stated;
          if (x == missing || (v.type == ValueType::float32 && x == static_cast<double>(static_cast<float>(missing))))
            x = std::numeric_limits<double>::quiet_NaN();
        }
    if (std::abs(x) > 9e36) x = std::numeric_limits<double>::quiet_NaN();
    x = x * scale + offset;
  }
  // Cells of icosahedral grids have theirs in radians.
  if ((is_latitude(v) || is_longitude(v)) && lower(unit_text(v)).starts_with("rad"))
    for (double& x : *raw) x /= kDegree;
  return std::move(*raw);
}

// In this order: its own, one whose date stands only in the long name ("ANALYSIS time from 20200101"), the feed's.
Result<TimeUnit> FileCoordinates::unit_of(const Variable& v) const {
  auto own = parse_time_unit(unit_text(v), v.text("calendar"));
  if (own || lower(unit_text(v)).find(" since ") != std::string::npos) return own;
  if (is_dated_by_name(v)) {
    const std::string text = v.text("long_name");
    return parse_time_unit(unit_text(v) + " since " + text.substr(text.rfind("from ") + 5), v.text("calendar"));
  }
  return time_unit_.empty() ? own : parse_time_unit(time_unit_, v.text("calendar"));
}

void FileCoordinates::find_times() {
  const auto& variables = file_.variables();
  for (std::size_t i = 0; i < variables.size(); ++i) {
    const Variable& v = variables[i];
    const std::string standard = v.text("standard_name"), name = lower(base_name(v.name)), units = unit_text(v);
    if (v.type == ValueType::text) {
      // Character times: one string per index, as "2005-08-28_12:00:00".
      if (standard == "time" || one_of(name, {"times", "datetime", "time_string", "time", "valid_time"}))
        times_.push_back({i, TimeRole::valid, standard == "time", true});
      continue;
    }
    const bool named_time = standard == "time" ||
                            one_of(name, {"time", "valid_time", "valtime", "xtime", "day", "date", "time1", "time2", "time3"}) ||
                            lower(v.text("axis")) == "t";
    const bool named_reference = standard == "forecast_reference_time" ||
                                 (standard.empty() && one_of(name, {"forecast_reference_time", "reftime", "reference_time",
                                                                    "analysis_time", "base_time"}));
    const bool named_lead = standard == "forecast_period" ||
                            (standard.empty() && one_of(name, {"step", "lead", "leadtime", "lead_time", "forecast_hour",
                                                               "forecast_period", "valtime_offset"}));
    const bool since = lower(units).find(" since ") != std::string::npos;
    if (named_lead && !since) {
      if (seconds_of_unit(units)) times_.push_back({i, TimeRole::lead, standard == "forecast_period"});
      continue;
    }
    // A variable of a field's shape may carry any unit; times have at most two dimensions and sit on a dimension of their own.
    if (!since && !named_time && !named_reference) continue;
    if (since && !named_time && !named_reference && v.dimensions.size() != 1 && !coordinates_.contains(i)) continue;
    const auto unit = unit_of(v);
    if (unit && !since)
      notes_.push_back(fmt::format("{}: the date of its times is taken from {}", v.name,
                                   is_dated_by_name(v) ? "its long name" : "the feed's time_unit"));
    if (!unit) {
      if (named_time || named_reference) {
        Error fault = unit.error();
        fault.where = v.name;
        if (!since) fault.hint += "; or the feed's word: time_unit = \"hours since 2026-04-01\"";
        faulty_times_.emplace(i, std::move(fault));
        coordinates_.insert(i);
      }
      continue;
    }
    coordinates_.insert(i);
    times_.push_back({i, named_reference ? TimeRole::reference : TimeRole::valid,
                      standard == "time" || standard == "forecast_reference_time"});
  }
  // Where "valid_time" and "time" stand side by side without standard names, "time" is the reference (the converters' habit).
  const auto valid = std::find_if(times_.begin(), times_.end(), [&](const TimeLike& t) {
    return one_of(lower(base_name(variables[t.variable].name)), {"valid_time", "valtime"});
  });
  if (valid != times_.end())
    for (TimeLike& t : times_)
      if (!t.by_standard_name && lower(base_name(variables[t.variable].name)) == "time") t.role = TimeRole::reference;
}

Result<TimeCoordinate> FileCoordinates::decode(const TimeLike& time) const {
  const Variable& v = file_.variables()[time.variable];
  TimeCoordinate result{.variable = time.variable, .dimensions = v.dimensions, .at = {}, .begin = {}, .end = {}};
  if (time.is_text) {
    auto text = file_.read_text(time.variable);
    if (!text) return text.errors();
    // The last dimension of characters is the length of a string; of strings it is not.
    if (!result.dimensions.empty() && text->size() < file_.size_of(time.variable)) result.dimensions.pop_back();
    for (const std::string& t : *text) result.at.push_back(parse_instant(t));
  } else {
    const auto unit = unit_of(v);
    if (!unit) return unit.errors();
    result.at = decode_times(numbers(time.variable), *unit, v.type == ValueType::float32);
  }
  std::erase_if(result.dimensions,
                [&](std::size_t d) { return file_.dimensions()[d].length == 1 && result.dimensions.size() > 1; });
  if (result.at.empty() || std::none_of(result.at.begin(), result.at.end(), [](const auto& t) { return t.has_value(); }))
    return Error{ErrorKind::invalid, "no_time", v.name, "holds no times", "fill the time coordinate"};
  if (!time.is_text) attach_bounds(result);
  return result;
}

void FileCoordinates::attach_bounds(TimeCoordinate& time) const {
  const Variable& v = file_.variables()[time.variable];
  const auto bounds = file_.resolve(time.variable, v.text("bounds"));
  if (v.text("bounds").empty() || !bounds) return;
  const Variable& b = file_.variables()[*bounds];
  // Only (n, 2) in this order can be trusted.
  if (b.dimensions.empty() || file_.dimensions()[b.dimensions.back()].length != 2 || file_.size_of(*bounds) != 2 * time.at.size())
    return;
  const std::string own_unit = unit_text(b);
  const auto unit = parse_time_unit(own_unit.empty() ? unit_text(v) : own_unit, v.text("calendar"));
  if (!unit) return;
  const auto ends = decode_times(numbers(*bounds), *unit, b.type == ValueType::float32);
  std::vector<UtcTime> begin, end;
  for (std::size_t i = 0; i < time.at.size(); ++i) {
    if (!time.at[i] || !ends[2 * i] || !ends[2 * i + 1] || *ends[2 * i] >= *ends[2 * i + 1] || *time.at[i] < *ends[2 * i] ||
        *time.at[i] > *ends[2 * i + 1]) {
      notes_.push_back(fmt::format("{}: the bounds {} do not enclose its times and are left aside", v.name, b.name));
      return;
    }
    begin.push_back(*ends[2 * i]);
    end.push_back(*ends[2 * i + 1]);
  }
  time.begin = std::move(begin);
  time.end = std::move(end);
}

Result<TimeCoordinate> FileCoordinates::valid_time(std::size_t variable) const {
  const auto rank = [&](const TimeLike& t) {
    const Variable& v = file_.variables()[t.variable];
    const bool own = v.dimensions.size() == 1 && base_name(v.name) == base_name(file_.dimensions()[v.dimensions[0]].name);
    // An axis of the variable itself before one that only has a single value.
    const auto& axes = file_.variables()[variable].dimensions;
    const bool is_axis_of_it = !v.dimensions.empty() && std::find(axes.begin(), axes.end(), v.dimensions[0]) != axes.end();
    return (is_axis_of_it ? 16 : 0) + (t.by_standard_name ? 8 : 0) +
           (one_of(lower(base_name(v.name)), {"valid_time", "valtime"}) ? 4 : 0) + (v.dimensions.empty() ? 0 : 2) + (own ? 1 : 0);
  };
  const TimeLike* best = nullptr;
  const TimeLike *reference = nullptr, *lead = nullptr;
  for (const TimeLike& t : times_) {
    if (t.is_text ? file_.variables()[t.variable].dimensions.empty() ||
                        std::find(file_.variables()[variable].dimensions.begin(), file_.variables()[variable].dimensions.end(),
                                  file_.variables()[t.variable].dimensions[0]) == file_.variables()[variable].dimensions.end()
                  : !dimensions_within(t.variable, variable))
      continue;
    if (t.role == TimeRole::valid &&
        (!best || (best->is_text && !t.is_text) || (best->is_text == t.is_text && rank(t) > rank(*best))))
      best = &t;
    if (t.role == TimeRole::reference && !reference) reference = &t;
    if (t.role == TimeRole::lead && !lead) lead = &t;
  }
  if (best) {
    auto time = decode(*best);
    if (!time) return time;
    if (time->dimensions.size() > 1)
      return Error{ErrorKind::unsupported, "several_runs", file_.variables()[best->variable].name,
                   "gives valid times by run and lead together", "give one file a run"};
    return time;
  }
  if (reference && lead) {
    auto start = decode(*reference);
    if (!start) return start;
    const Variable& v = file_.variables()[lead->variable];
    const auto leads = numbers(lead->variable);
    const double unit = seconds_of_unit(unit_text(v)).value_or(3600);
    TimeCoordinate time{.variable = lead->variable, .dimensions = v.dimensions, .at = {}, .begin = {}, .end = {}};
    for (std::size_t i = 0; i < leads.size(); ++i) {
      const auto& from = start->at.size() == leads.size() ? start->at[i] : start->at.front();
      time.at.push_back(after(from, leads[i] * unit));
    }
    return time;
  }
  for (const auto& [faulty, error] : faulty_times_)
    if (dimensions_within(faulty, variable)) return error;
  if (reference) {
    auto time = decode(*reference);
    if (time)
      notes_.push_back(fmt::format("{}: no valid time, its reference time is taken for it", file_.variables()[variable].name));
    return time;
  }
  return Error{ErrorKind::invalid, "no_time", file_.variables()[variable].name, "has no time coordinate",
               "accepted: a coordinate with standard_name \"time\" and units \"hours since …\", or reference time and lead"};
}

Result<std::optional<UtcTime>> FileCoordinates::reference_time() const {
  std::optional<UtcTime> found;
  for (const TimeLike& t : times_) {
    if (t.role != TimeRole::reference || base_name(file_.variables()[t.variable].name) == "base_time") continue;
    const auto times = decode(t);
    if (!times) continue;
    for (const auto& at : times->at) {
      if (!at) continue;
      if (found && std::chrono::abs(*at - *found) > std::chrono::seconds(60))
        return Error{ErrorKind::unsupported, "several_runs", file_.variables()[t.variable].name,
                     fmt::format("gives several reference times ({} and {})", utc_text(*found), utc_text(*at)),
                     "give one file a run"};
      if (!found) found = at;
    }
  }
  if (found) return found;
  // Valid time and lead together give it too.
  for (const TimeLike& lead : times_) {
    if (lead.role != TimeRole::lead) continue;
    const auto leads = numbers(lead.variable);
    const double unit = seconds_of_unit(unit_text(file_.variables()[lead.variable])).value_or(3600);
    for (const TimeLike& t : times_) {
      if (t.role != TimeRole::valid) continue;
      const auto times = decode(t);
      if (!times || times->at.size() != leads.size()) continue;
      if (const auto start = after(times->at.front(), -leads.front() * unit)) return start;
    }
  }
  for (const char* name : {"forecast_reference_time", "reference_time", "analysis_time", "model_run_time", "cycle_datetime",
                           "SIMULATION_START_DATE", "START_DATE"})
    for (const Attribute& a : file_.attributes())
      if (a.name == name && a.is_text)
        if (const auto t = parse_instant(a.text)) {
          notes_.push_back(fmt::format("reference time taken from the global attribute {}", a.name));
          return std::optional(*t);
        }
  return std::optional<UtcTime>();
}

// The file of a sounding has one dimension, along which time, pressure, latitude and longitude change from level to level.
VerticalCoordinate FileCoordinates::levels_of_ascent(std::size_t variable) const {
  const auto& dimensions = file_.variables()[variable].dimensions;
  VerticalCoordinate levels;
  bool has_latitude = false, has_longitude = false;
  if (dimensions.size() != 1) return levels;
  for (std::size_t i = 0; i < file_.variables().size(); ++i) {
    const Variable& v = file_.variables()[i];
    if (v.dimensions != dimensions || i == variable) continue;
    has_latitude = has_latitude || is_latitude(v);
    has_longitude = has_longitude || is_longitude(v);
    if (v.text("standard_name") != "air_pressure" && !one_of(lower(base_name(v.name)), {"pres", "pressure", "air_pressure"}))
      continue;
    const auto to = convert_units(unit_text(v), "hPa");
    if (!to || levels.kind != VerticalCoordinate::Kind::none) continue;
    levels = {VerticalCoordinate::Kind::pressure, dimensions[0], numbers(i), v.name};
    for (double& p : levels.values) p = p * to->factor + to->offset;
  }
  return has_latitude && has_longitude ? levels : VerticalCoordinate();
}

// A coordinate of one value that the file ties to other variables: by a dimension of length one, or by their `coordinates`.
bool FileCoordinates::is_level_of_others(std::size_t coordinate, std::size_t variable) const {
  const auto names_it = [&](std::size_t v) {
    for (const std::string& word : words(file_.variables()[v].text("coordinates")))
      if (file_.resolve(v, word) == coordinate) return true;
    return false;
  };
  const auto &own = file_.variables()[coordinate].dimensions, &axes = file_.variables()[variable].dimensions;
  const bool is_along =
      std::any_of(own.begin(), own.end(), [&](std::size_t d) { return std::find(axes.begin(), axes.end(), d) != axes.end(); });
  if (is_along || names_it(variable)) return false;
  if (!own.empty()) return true;
  for (std::size_t v = 0; v < file_.variables().size(); ++v)
    if (v != variable && names_it(v)) return true;
  return false;
}

// The dimension along which places are listed one by one (CF 9).
std::optional<std::size_t> FileCoordinates::station_dimension(std::size_t variable) const {
  const auto& dimensions = file_.variables()[variable].dimensions;
  for (const std::size_t d : dimensions) {
    bool has_latitude = false, has_longitude = false;
    for (const Variable& v : file_.variables()) {
      if (v.dimensions != std::vector{d}) continue;
      has_latitude = has_latitude || is_latitude(v);
      has_longitude = has_longitude || is_longitude(v);
    }
    if (has_latitude && has_longitude) return d;
  }
  return std::nullopt;
}

VerticalCoordinate FileCoordinates::vertical(std::size_t variable) const {
  if (auto levels = levels_of_ascent(variable); levels.dimension) return levels;
  const auto& field = file_.variables()[variable];
  VerticalCoordinate best;
  const auto stations = station_dimension(variable);
  for (const std::size_t c : associated(variable)) {
    const Variable& v = file_.variables()[c];
    if (v.type == ValueType::text || is_latitude(v) || is_longitude(v) || is_axis(v, 'x') || is_axis(v, 'y')) continue;
    if (is_level_of_others(c, variable)) continue;
    const bool is_of_stations = stations && v.dimensions == std::vector{*stations};  // how high each of them stands
    // Levels of a station or profile may repeat its dimensions of one.
    std::vector<std::size_t> dimensions = v.dimensions;
    if (dimensions.size() > 1) std::erase_if(dimensions, [&](std::size_t d) { return file_.dimensions()[d].length == 1; });
    if (dimensions.size() > 1) continue;
    if (!dimensions.empty() && file_.dimensions()[dimensions[0]].length > 1 &&
        std::find(field.dimensions.begin(), field.dimensions.end(), dimensions[0]) == field.dimensions.end())
      continue;
    const std::string standard = v.text("standard_name"), name = lower(base_name(v.name)), units = unit_text(v);
    // A scalar that nothing points to belongs to this variable only if it is the file's single vertical coordinate.
    const bool pressure =
        standard == "air_pressure" || one_of(name, {"plev", "isobaric", "isobaricinhpa", "pressure", "pressure_level"}) ||
        name.starts_with("isobaric") || (one_of(name, {"level", "lev", "levels"}) && convert_units(units, "Pa"));
    const bool height = one_of(standard, {"height", "height_above_ground_level_in_m", "height_above_ground"}) ||
                        (standard.empty() && (name.starts_with("height") || name == "heightaboveground"));
    const bool other = !pressure && !height &&
                       (lower(v.text("axis")) == "z" || v.attribute("positive") || v.attribute("formula_terms") ||
                        one_of(name, {"level", "lev", "bottom_top", "hybrid"}) || name.ends_with("_at_ml"));
    if ((!pressure && !height && !other) || (is_of_stations && !height)) continue;
    VerticalCoordinate candidate;
    candidate.name = v.name;
    if (!dimensions.empty() && !is_of_stations &&
        std::find(field.dimensions.begin(), field.dimensions.end(), dimensions[0]) != field.dimensions.end())
      candidate.dimension = dimensions[0];
    candidate.values = numbers(c);
    if (pressure || height) {
      candidate.kind = pressure ? VerticalCoordinate::Kind::pressure : VerticalCoordinate::Kind::height;
      const auto to = convert_units(units.empty() ? (pressure ? "hPa" : "m") : units, pressure ? "hPa" : "m");
      if (to)
        for (double& x : candidate.values) x = x * to->factor + to->offset;
      else
        candidate.kind = VerticalCoordinate::Kind::other;
    } else {
      candidate.kind = VerticalCoordinate::Kind::other;
    }
    // A dimension decides before a scalar does.
    if (best.kind == VerticalCoordinate::Kind::none || (candidate.dimension && !best.dimension)) best = std::move(candidate);
  }
  return best;
}

MemberCoordinate FileCoordinates::members(std::size_t variable) const {
  MemberCoordinate m;
  const auto& variables = file_.variables();
  const auto along = [&](std::size_t dimension) -> std::optional<std::size_t> {
    for (std::size_t i = 0; i < variables.size(); ++i)
      if (variables[i].dimensions == std::vector{dimension} && is_member(variables[i])) return i;
    return std::nullopt;
  };
  std::optional<std::size_t> coordinate;
  for (const std::size_t d : variables[variable].dimensions) {
    coordinate = along(d);
    if (!coordinate && !names_members(file_.dimensions()[d].name)) continue;
    m.dimension = d;
    break;
  }
  if (!m.dimension)
    for (const std::size_t c : associated(variable))
      if (variables[c].dimensions.empty() && is_member(variables[c])) coordinate = c;
  if (coordinate) m.numbers = numbers(*coordinate);
  const std::set<double> distinct(m.numbers.begin(), m.numbers.end());
  if (distinct.size() != m.numbers.size() ||
      std::any_of(m.numbers.begin(), m.numbers.end(), [](double x) { return std::isnan(x); }))
    m.numbers.clear();
  return m;
}

HorizontalCoordinates FileCoordinates::horizontal(std::size_t variable) const {
  const auto& field = file_.variables()[variable];
  HorizontalCoordinates h;
  for (std::string word : words(field.text("grid_mapping"))) {
    // Plain "crs", or "crs: x y crs2: lat lon" (CF 5.6); the first one that is a variable.
    if (word.ends_with(':')) word.pop_back();
    if (const auto c = file_.resolve(variable, word); c && !h.mapping) h.mapping = c;
  }
  const auto has = [&](std::size_t d) {
    return std::find(field.dimensions.begin(), field.dimensions.end(), d) != field.dimensions.end();
  };
  const auto spans = [&](const Variable& v) {
    std::vector<std::size_t> list;
    for (const std::size_t d : v.dimensions)
      if (has(d)) list.push_back(d);
    return list;
  };
  for (const std::size_t c : associated(variable)) {
    const Variable& v = file_.variables()[c];
    if (v.type == ValueType::text || v.dimensions.size() > 3) continue;
    if (!h.latitude && is_latitude(v))
      h.latitude = c;
    else if (!h.longitude && is_longitude(v))
      h.longitude = c;
    else if (v.dimensions.size() == 1 && has(v.dimensions[0])) {
      if (!h.y && is_axis(v, 'y'))
        h.y = c;
      else if (!h.x && is_axis(v, 'x'))
        h.x = c;
    }
  }
  if (!h.latitude || !h.longitude) h.latitude = h.longitude = std::nullopt;
  if (!h.y || !h.x) h.y = h.x = std::nullopt;
  if (h.y) {
    h.y_dimension = file_.variables()[*h.y].dimensions[0];
    h.x_dimension = file_.variables()[*h.x].dimensions[0];
  }
  if (!h.latitude) return h;

  const auto lat = spans(file_.variables()[*h.latitude]), lon = spans(file_.variables()[*h.longitude]);
  // WRF repeats its coordinates for each time; the last two dimensions are the grid.
  const auto last_two = [](std::vector<std::size_t> d) { return d.size() > 2 ? std::vector(d.end() - 2, d.end()) : d; };
  const auto lat2 = last_two(lat), lon2 = last_two(lon);
  // Rows of one latitude and columns of one longitude need no projection, whatever else numbers them.
  if (h.y && lat == std::vector{*h.y_dimension} && lon == std::vector{*h.x_dimension}) h.y = h.x = std::nullopt;
  if (lat2.size() == 2 && lat2 == lon2) {
    h.curvilinear = true;
    if (!h.y) {
      // The dimension that stands first in the data is taken as y; stored the other way round, latitude is read transposed.
      const auto place = [&](std::size_t d) {
        return std::find(field.dimensions.begin(), field.dimensions.end(), d) - field.dimensions.begin();
      };
      h.transposed = place(lat2[0]) > place(lat2[1]);
      h.y_dimension = h.transposed ? lat2[1] : lat2[0];
      h.x_dimension = h.transposed ? lat2[0] : lat2[1];
    } else {
      h.transposed = lat2[0] == *h.x_dimension;
    }
  } else if (!h.y) {
    if (lat.size() == 1 && lon.size() == 1) {
      h.stations = lat[0] == lon[0];
      h.x_dimension = lon[0];
      if (!h.stations) h.y_dimension = lat[0];
      if (h.stations && levels_of_ascent(variable).dimension) {
        h.sounding = true;
        h.stations = false;
        h.x_dimension = std::nullopt;
      }
    } else if (lat.size() + lon.size() == 1) {
      (lat.empty() ? h.x_dimension : h.y_dimension) = lat.empty() ? lon[0] : lat[0];
    }
  }
  return h;
}

bool FileCoordinates::settle(HorizontalCoordinates& stations) const {
  constexpr double kSamePlace = 1e-3;  // degrees, some 100 m
  for (const auto& c : {stations.latitude, stations.longitude}) {
    if (!c) return false;
    auto numbers_of_it = numbers(*c);
    std::erase_if(numbers_of_it, [](double x) { return std::isnan(x); });
    const auto [least, most] = std::minmax_element(numbers_of_it.begin(), numbers_of_it.end());
    if (numbers_of_it.empty() || *most - *least > kSamePlace) return false;
  }
  stations.stations = false;
  stations.sounding = true;
  stations.x_dimension = std::nullopt;
  return true;
}

}  // namespace hakea::ingest
