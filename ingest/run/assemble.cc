// plan_run: files to one run. In order: open the files and agree on the reference time; find what each variable means, when
// and where; merge the times, levels and members; settle what only values can decide; weigh the points.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "ingest/cf/alias_proposals.h"
#include "ingest/cf/time_axis.h"
#include "ingest/run/candidate.h"
#include "ingest/run/counting.h"
#include "ingest/run/doubles.h"
#include "ingest/run/forecast_run.h"
#include "ingest/run/stations.h"
#include "ingest/run/variable.h"
#include "ingest/station/nearest.h"

namespace hakea::ingest {
namespace {

using core::Fed;
using core::TimeKind;

int place_of(const Variable& v, std::optional<std::size_t> dimension) {
  if (!dimension) return -1;
  const auto at = std::find(v.dimensions.begin(), v.dimensions.end(), *dimension);
  return at == v.dimensions.end() ? -1 : static_cast<int>(at - v.dimensions.begin());
}

class Assembly {
 public:
  Assembly(const Feed& feed, const std::vector<std::string>& files, const std::vector<PointOfInterest>& points,
           NetcdfFile::Need need = NetcdfFile::Need::values)
      : feed_(feed), points_(points), need_(need) {
    plan_.files = files;
  }

  Result<RunPlan> run() {
    open_files();
    if (sources_.empty()) {
      Errors errors = std::move(unreadable_);
      if (errors.empty())
        errors.push_back({ErrorKind::not_found, "no_files", "", "no files were given", "name at least one file"});
      return errors;
    }
    agree_on_reference();
    for (auto& source : sources_) find_fields(*source);
    drop_doubles();
    merge_times();
    make_fields();
    count_amounts(plan_, candidate_of_, grids_);
    weigh_points();
    for (auto& source : sources_)
      for (const std::string& note : source->coordinates.notes()) plan_.note(plan_.file_name(source->index) + ": " + note);
    for (const std::string& note : grids_.take_notes()) plan_.note(note);
    return std::move(plan_);
  }

 private:
  void refuse(std::size_t file, std::string variable, const Error& e) {
    plan_.refusals.push_back({plan_.files[file], variable.empty() ? e.where : std::move(variable), e.what, e.hint, e.code});
    if (plan_.refusals.back().variable == plan_.files[file]) plan_.refusals.back().variable.clear();
  }

  void open_files() {
    for (std::size_t i = 0; i < plan_.files.size(); ++i) {
      auto file = NetcdfFile::open(plan_.files[i], need_);
      if (!file) {
        refuse(i, {}, file.error());
        unreadable_.push_back(file.error());
        continue;
      }
      sources_.push_back(std::make_unique<OpenFile>(i, std::move(*file), feed_));
    }
  }

  void agree_on_reference() {
    std::map<UtcTime, std::size_t> votes;
    std::erase_if(sources_, [&](const auto& source) {
      auto reference = source->coordinates.reference_time();
      if (!reference) {
        refuse(source->index, {}, reference.error());
        return true;
      }
      source->reference = *reference;
      if (source->reference) ++votes[*source->reference];
      return false;
    });
    if (votes.empty()) return;
    const auto most =
        std::max_element(votes.begin(), votes.end(), [](const auto& a, const auto& b) { return a.second <= b.second; });
    plan_.reference_time = most->first;
    span_ = std::pair(most->first, most->first);
    reference_stated_ = true;
    std::erase_if(sources_, [&](const auto& source) {
      if (!source->reference || *source->reference == plan_.reference_time) return false;
      refuse(source->index, {},
             {ErrorKind::invalid, "other_run", "",
              fmt::format("belongs to the run of {}, the others to that of {}", utc_text(*source->reference),
                          utc_text(plan_.reference_time)),
              "give the files of one reference time together"});
      return true;
    });
  }

  void find_fields(OpenFile& source) {
    const std::string& path = plan_.files[source.index];
    for (std::size_t i = 0; i < source.file.variables().size(); ++i) {
      const Variable& v = source.file.variables()[i];
      auto meaning = meaning_of(feed_, source.file, source.coordinates, i);
      if (!meaning) {
        refuse(source.index, v.name, meaning.error());
        continue;
      }
      const bool data = !source.coordinates.is_coordinate(i) && v.type != ValueType::text && v.type != ValueType::other;
      if (!*meaning) {
        if (!v.unreadable.empty())
          plan_.note(fmt::format("{}: {} is passed over: {}", plan_.file_name(source.index), v.name, v.unreadable));
        if (data) plan_.variables.push_back({path, v.name, "", unit_text(v), 1});
        continue;
      }
      Candidate c{.source = &source,
                  .variable = i,
                  .meaning = std::move(**meaning),
                  .time = {},
                  .grid = 0,
                  .horizontal = {},
                  .members = source.coordinates.members(i)};
      if (const auto fault = place(c)) {
        refuse(source.index, v.name, *fault);
        continue;
      }
      const std::size_t levels =
          core::describe(c.meaning.fed).on_levels ? std::max<std::size_t>(1, c.meaning.vertical.values.size()) : 1;
      plan_.variables.push_back({path, v.name, std::string(core::describe(c.meaning.fed).key), c.meaning.stated_unit, levels});
      for (const std::string& note : c.meaning.notes) plan_.note(plan_.file_name(source.index) + ": " + note);
      candidates_.push_back(std::move(c));
    }
  }

  // Adds the times of a variable to those of the run, unless they lie too far from them.
  std::optional<Error> take_times(const Candidate& c) {
    auto [first, last] = span_.value_or(std::pair(UtcTime::max(), UtcTime::min()));
    for (const auto& t : c.time.at)
      if (t) first = std::min(first, *t), last = std::max(last, *t);
    if (first <= last && last - first > kLongestRun)
      return Error{ErrorKind::invalid, "too_long", c.v().name,
                   fmt::format("gives the run times from {} to {}", utc_text(first), utc_text(last)),
                   "a run covers at most 100 years; correct the times"};
    if (first <= last) span_ = std::pair(first, last);
    return std::nullopt;
  }

  // When and where; what is wrong with it.
  std::optional<Error> place(Candidate& c) {
    const Variable& v = c.v();
    const auto& row = core::describe(c.meaning.fed);
    if (row.kind != TimeKind::fixed) {
      auto time = c.source->coordinates.valid_time(c.variable);
      if (!time) return time.error();
      c.time = std::move(*time);
      if (c.meaning.vertical.dimension && c.time.dimensions == std::vector{*c.meaning.vertical.dimension}) {
        // Levels passed one after the other: a profile of the time when the balloon was let go.
        c.time.dimensions.clear();
        c.time.at.resize(1);
        c.time.begin.clear();
        c.time.end.clear();
        plan_.note(fmt::format("{}: a sounding, read as the profile at its launch", plan_.file_name(c.source->index)));
      }
      if (auto fault = take_times(c)) return fault;
      // Bounds of a time that sums of other variables share.
      if (row.kind != TimeKind::amount && v.text("cell_methods").find("time: point") != std::string::npos)
        c.time.begin = c.time.end = {};
      if (row.kind == TimeKind::instant && v.text("cell_methods").find("time: mean") != std::string::npos) {
        std::chrono::hours length(0);
        for (std::size_t k = 0; k < c.time.at.size(); ++k) {
          if (!c.time.begin.empty())
            length = std::max(length, std::chrono::ceil<std::chrono::hours>(c.time.end[k] - c.time.begin[k]));
          else if (k > 0 && c.time.at[k] && c.time.at[k - 1])
            length = std::max(length, std::chrono::ceil<std::chrono::hours>(*c.time.at[k] - *c.time.at[k - 1]));
        }
        if (length > std::chrono::hours(3) && c.meaning.by == NamedBy::alias)
          plan_.note(fmt::format("{}: {} is a mean over {} h, taken for the value at its time as the feed's alias says",
                                 plan_.file_name(c.source->index), v.name, length.count()));
        else if (length > std::chrono::hours(3))
          return Error{ErrorKind::invalid, "mean", v.name,
                       fmt::format("is a mean over {} h, where the value at an instant is wanted", length.count()),
                       "accepted: instants, or means over at most 3 h"};
      }
    }
    auto horizontal = c.source->coordinates.horizontal(c.variable);
    if (horizontal.stations && !c.time.dimensions.empty() && horizontal.x_dimension == c.time.dimensions.front() &&
        c.source->file.dimensions()[*horizontal.x_dimension].length > 1 && !c.source->coordinates.settle(horizontal))
      return Error{ErrorKind::unsupported, "moving", v.name, "changes its place with the time: a sounding or a track",
                   "accepted: places or grids that stay where they are"};
    std::vector<std::size_t> other_roles = c.time.dimensions;
    for (const auto& d : {c.members.dimension, c.meaning.vertical.dimension})
      if (d) other_roles.push_back(*d);
    grids_.lay(horizontal, c.source->file, c.variable, other_roles);
    auto grid = grids_.of(c.source->file, c.source->coordinates, horizontal);
    if (!grid) return grid.error();
    c.grid = *grid;
    if (horizontal.y_dimension) c.horizontal.push_back(*horizontal.y_dimension);
    if (horizontal.x_dimension) c.horizontal.push_back(*horizontal.x_dimension);
    y_of_[&c.source->file][c.variable] = {horizontal.y_dimension, horizontal.x_dimension};
    // Every dimension has a role or is of length one.
    for (const std::size_t d : v.dimensions) {
      const bool known = std::find(c.horizontal.begin(), c.horizontal.end(), d) != c.horizontal.end() ||
                         c.members.dimension == d || c.meaning.vertical.dimension == d ||
                         std::find(c.time.dimensions.begin(), c.time.dimensions.end(), d) != c.time.dimensions.end();
      const auto length = c.source->file.dimensions()[d].length;
      if (length == 0)
        return Error{ErrorKind::incomplete, "empty", v.name,
                     fmt::format("is empty along \"{}\"", c.source->file.dimensions()[d].name),
                     "write the values before handing the file over"};
      if (!known && length > 1)
        return Error{
            ErrorKind::unsupported, "dimension", v.name,
            fmt::format("has the dimension \"{}\" of {}, which is neither time, level, member nor place",
                        c.source->file.dimensions()[d].name, length),
            grids_.all()[c.grid].nx() == 0
                ? "accepted: axes with coordinate variables (standard_name, units), two-dimensional latitude and longitude, or "
                  "the feed's word: grid = { projection = \"+proj=…\", first = [latitude, longitude], step = [x, y] }"
                : "accepted: time, level, member, y and x"};
    }
    if (grids_.all()[c.grid].nx() == 0)
      plan_.note(fmt::format("{}: {} states no position and serves no place", plan_.file_name(c.source->index), v.name));
    return settle_unit(c.source->file, c.variable, c.horizontal, c.meaning);
  }

  // Two variables of one file that mean the same: the one named more surely stays.
  void drop_doubles() {
    for (std::size_t i = 0; i < candidates_.size(); ++i)
      for (std::size_t j = i + 1; j < candidates_.size();) {
        const Candidate &a = candidates_[i], &b = candidates_[j];
        const bool same = a.source == b.source && a.meaning.fed == b.meaning.fed && a.time.at == b.time.at &&
                          a.members.numbers == b.members.numbers &&
                          (!core::describe(a.meaning.fed).on_levels || a.meaning.vertical.values == b.meaning.vertical.values);
        if (!same) {
          ++j;
          continue;
        }
        const bool second_wins = b.meaning.by > a.meaning.by;
        const auto& row = core::describe(a.meaning.fed);
        const Candidate& loser = second_wins ? a : b;
        refuse(
            a.source->index, loser.v().name,
            {ErrorKind::invalid, "twice", "", fmt::format("means {} as \"{}\" does", row.key, (second_wins ? b : a).v().name),
             fmt::format("to prefer it, say so in the feed: {}", as_toml({{base_name(loser.v().name), std::string(row.key)}}))});
        for (VariableReport& r : plan_.variables)
          if (r.file == plan_.files[a.source->index] && r.name == loser.v().name) r.quantity.clear();
        if (second_wins) std::swap(candidates_[i], candidates_[j]);
        candidates_.erase(candidates_.begin() + static_cast<std::ptrdiff_t>(j));
      }
  }

  void merge_times() {
    std::set<UtcTime> steps;
    std::set<double, std::greater<>> levels;
    for (const Candidate& c : candidates_) {
      std::size_t backwards = 0, repeated = 0, missing = 0;
      std::set<UtcTime> own;
      for (std::size_t k = 0; k < c.time.at.size(); ++k) {
        if (!c.time.at[k]) {
          ++missing;
          continue;
        }
        backwards += k > 0 && c.time.at[k - 1] && *c.time.at[k] < *c.time.at[k - 1];
        repeated += !own.insert(*c.time.at[k]).second;
      }
      const std::string where = plan_.file_name(c.source->index);
      if (backwards) plan_.note(fmt::format("{}: the times of {} do not ascend; they were sorted", where, c.v().name));
      if (repeated) plan_.note(fmt::format("{}: {} times of {} come twice; the later one counts", where, repeated, c.v().name));
      if (missing) plan_.note(fmt::format("{}: {} times of {} are missing and were left out", where, missing, c.v().name));
      steps.insert(own.begin(), own.end());
      if (core::describe(c.meaning.fed).on_levels)
        for (const double p : c.meaning.vertical.values)
          if (std::isfinite(p)) levels.insert(p);
      member_numbers_.insert(c.members.numbers.begin(), c.members.numbers.end());
      plan_.members = std::max({plan_.members, member_count(c), member_numbers_.size()});
    }
    plan_.steps.assign(steps.begin(), steps.end());
    plan_.levels_hpa.assign(levels.begin(), levels.end());
    if (!reference_stated_ && !plan_.steps.empty()) {
      plan_.reference_time = plan_.steps.front();
      plan_.note(fmt::format("no reference time is stated; the first time, {}, is taken", utc_text(plan_.reference_time)));
    }
    std::size_t gaps = 0;
    std::chrono::seconds usual(std::numeric_limits<std::int32_t>::max());
    for (std::size_t k = 1; k < plan_.steps.size(); ++k) usual = std::min(usual, plan_.steps[k] - plan_.steps[k - 1]);
    for (std::size_t k = 1; k < plan_.steps.size(); ++k)
      gaps += plan_.steps[k] - plan_.steps[k - 1] > std::chrono::hours(6) && plan_.steps[k] - plan_.steps[k - 1] > usual;
    if (gaps)
      plan_.note(gaps == 1 ? std::string("a gap of more than 6 h between times")
                           : fmt::format("{} gaps of more than 6 h between times", gaps));
  }

  void make_fields() {
    for (const Candidate& c : candidates_) {
      const Variable& v = c.v();
      const auto& row = core::describe(c.meaning.fed);
      if (row.kind == TimeKind::fixed) {
        fixed_.push_back(&c);
        continue;
      }
      FieldPlan f;
      f.fed = c.meaning.fed;
      f.file = c.source->index;
      f.variable = c.variable;
      f.decoding = decoding_of(v, c.meaning);
      f.grid = c.grid;
      // An amount is that of a place; between 350 and 10 degrees there is no mean.
      f.nearest = row.kind == TimeKind::amount || f.fed == Fed::wind_from_direction;
      const auto& [y, x] = y_of_.at(&c.source->file).at(c.variable);
      f.y_dim = place_of(v, y);
      f.x_dim = place_of(v, x);
      for (std::size_t m = 0; m < member_count(c); ++m)
        f.member_of.push_back(c.members.numbers.empty() ? static_cast<std::int32_t>(m) : member_index(c.members.numbers[m]));
      // A single member needs no dimension, only its number.
      if (f.member_of.size() > 1) f.member_dim = place_of(v, c.members.dimension);
      f.time_dim = c.time.dimensions.empty() ? -1 : place_of(v, c.time.dimensions.front());
      f.level_dim = place_of(v, c.meaning.vertical.dimension);
      if (f.level_dim >= 0) {
        const std::size_t length = c.source->file.dimensions()[*c.meaning.vertical.dimension].length;
        for (std::size_t k = 0; k < length; ++k) {
          if (!row.on_levels)
            f.level_of.push_back(c.meaning.level.value_or(0) == k ? 0 : -1);
          else
            f.level_of.push_back(k < c.meaning.vertical.values.size() ? level_index(c.meaning.vertical.values[k]) : -1);
        }
      } else if (row.on_levels) {
        f.level_of.push_back(c.meaning.vertical.values.empty() ? -1 : level_index(c.meaning.vertical.values[0]));
      }
      std::vector<StepTime> times(plan_.steps.size(), StepTime{UtcTime::min(), UtcTime::min()});
      f.step_of_time.assign(c.time.at.size(), -1);
      std::map<std::size_t, std::size_t> time_of_step;
      for (std::size_t t = 0; t < c.time.at.size(); ++t) {
        if (!c.time.at[t]) continue;
        const auto step = static_cast<std::size_t>(std::lower_bound(plan_.steps.begin(), plan_.steps.end(), *c.time.at[t]) -
                                                   plan_.steps.begin());
        if (const auto [before, fresh] = time_of_step.emplace(step, t); !fresh) {
          f.step_of_time[before->second] = -1;
          before->second = t;
        }
        f.step_of_time[t] = static_cast<std::int32_t>(step);
        times[step] = c.time.begin.empty() ? StepTime{*c.time.at[t], *c.time.at[t]} : StepTime{c.time.begin[t], c.time.end[t]};
      }
      plan_.fields.push_back(std::move(f));
      plan_.field_times.push_back(std::move(times));
      plan_.accumulation.push_back(Accumulation::none);
      candidate_of_.push_back(&c);
      doubles_.settle(c.source->file, c.time, time_of_step);
    }
  }

  std::int32_t level_index(double hpa) const {
    const auto at = std::find(plan_.levels_hpa.begin(), plan_.levels_hpa.end(), hpa);
    return at == plan_.levels_hpa.end() ? -1 : static_cast<std::int32_t>(at - plan_.levels_hpa.begin());
  }

  // Members of a variable: those along its dimension, the one a scalar names, or none.
  static std::size_t member_count(const Candidate& c) {
    return c.members.dimension ? c.source->file.dimensions()[*c.members.dimension].length : c.members.numbers.size();
  }
  std::int32_t member_index(double number) const {
    return static_cast<std::int32_t>(std::distance(member_numbers_.begin(), member_numbers_.find(number)));
  }

  // The values of a fixed field at stencils of its own grid, and of a mask in all its cells.
  std::vector<double> fixed_values(const OpenFile& source, std::size_t variable, const Meaning& meaning, std::size_t grid,
                                   const HorizontalCoordinates& h) {
    const Variable& v = source.file.variables()[variable];
    std::vector<std::size_t> start(v.dimensions.size(), 0), count(v.dimensions.size(), 1);
    bool y_first = true;
    for (std::size_t i = 0; i < v.dimensions.size(); ++i) {
      const bool y = h.y_dimension == v.dimensions[i], x = h.x_dimension == v.dimensions[i];
      if (y || x) count[i] = source.file.dimensions()[v.dimensions[i]].length;
      if (x)
        y_first = std::find(v.dimensions.begin(), v.dimensions.begin() + static_cast<std::ptrdiff_t>(i),
                            h.y_dimension.value_or(std::size_t(-1))) != v.dimensions.begin() + static_cast<std::ptrdiff_t>(i) ||
                  !h.y_dimension;
    }
    const std::size_t ny = std::max<std::size_t>(1, grids_.all()[grid].ny()), nx = grids_.all()[grid].nx();
    auto raw = source.file.read(variable, start, count);
    if (!raw || raw->size() != ny * nx) return {};
    const Decoding d = decoding_of(v, meaning);
    std::vector<double> values(ny * nx);
    for (std::size_t y = 0; y < ny; ++y)
      for (std::size_t x = 0; x < nx; ++x) values[y * nx + x] = decoded(d, (*raw)[y_first ? y * nx + x : x * ny + y]);
    return values;
  }

  struct FixedField {
    std::size_t grid = 0;
    std::vector<double> values;
  };

  std::optional<FixedField> companion(const std::string& path, Fed wanted) {
    const auto read = [&](const OpenFile& source, std::size_t variable, const Meaning& meaning) -> std::optional<FixedField> {
      auto h = source.coordinates.horizontal(variable);
      grids_.lay(h, source.file, variable, {});
      const auto grid = grids_.of(source.file, source.coordinates, h);
      if (!grid) return std::nullopt;
      FixedField f{*grid, fixed_values(source, variable, meaning, *grid, h)};
      return f.values.empty() ? std::nullopt : std::optional(std::move(f));
    };
    if (path.empty()) {
      for (const Candidate* c : fixed_)
        if (c->meaning.fed == wanted) return read(*c->source, c->variable, c->meaning);
      return std::nullopt;
    }
    auto file = NetcdfFile::open(path);
    if (!file) {
      plan_.refusals.push_back({path, "", file.error().what, file.error().hint});
      return std::nullopt;
    }
    const OpenFile source(0, std::move(*file), feed_);
    for (std::size_t i = 0; i < source.file.variables().size(); ++i) {
      auto meaning = meaning_of(feed_, source.file, source.coordinates, i);
      if (!meaning || !*meaning || (**meaning).fed != wanted) continue;
      if ((**meaning).unit.form == UnitForm::fraction) (**meaning).unit.factor = 1;
      if (auto field = read(source, i, **meaning)) return field;
    }
    plan_.refusals.push_back({path, "", fmt::format("holds no {}", core::describe(wanted).key),
                              fmt::format("accepted: a variable with standard_name \"{}\"", core::describe(wanted).key)});
    return std::nullopt;
  }

  // Whether a fixed field has the cells of a grid.
  bool serves(const FixedField& field, std::size_t g) const {
    return field.grid == g || grids_.all()[field.grid].has_cells_of(grids_.all()[g]);
  }

  // There is one turn of the winds a point: components along another grid than the first, where it would turn them
  // otherwise, are left out.
  void refuse_winds_along_other_grids() {
    std::optional<std::size_t> first;
    for (std::size_t i = 0; i < plan_.fields.size(); ++i) {
      FieldPlan& f = plan_.fields[i];
      if (f.fed != Fed::x_wind && f.fed != Fed::y_wind && f.fed != Fed::level_x_wind && f.fed != Fed::level_y_wind) continue;
      if (!first) first = f.grid;
      const auto is_turned_otherwise = [&](const PointOfInterest& p) {
        const GeoPosition at{p.latitude_deg, p.longitude_deg};
        constexpr double kSame = 0.1;  // degrees
        const double turn = grids_.all()[*first].rotation_deg(at), other = grids_.all()[f.grid].rotation_deg(at);
        return std::abs(std::remainder(turn - other, 360.0)) > kSame;
      };
      if (f.grid == *first || std::none_of(points_.begin(), points_.end(), is_turned_otherwise)) continue;
      const Candidate& c = *candidate_of_[i];
      refuse(c.source->index, c.v().name,
             {ErrorKind::unsupported, "two_grids", "", "blows along the axes of another grid than the first wind of the run",
              "give winds along one grid, or towards east and north"});
      std::fill(f.step_of_time.begin(), f.step_of_time.end(), -1);
      plan_.field_times[i].assign(plan_.steps.size(), {UtcTime::min(), UtcTime::min()});
    }
  }

  // What was observed holds where a station is near enough; nothing is observed on a grid.
  ChosenStations choose_stations(const std::optional<FixedField>& elevations) const {
    std::vector<StationRow> rows;
    std::set<std::size_t> known;
    for (std::size_t i = 0; i < plan_.fields.size(); ++i) {
      const std::size_t g = plan_.fields[i].grid;
      if (!known.insert(g).second) continue;
      const Candidate& c = *candidate_of_[i];
      const auto along = y_of_.at(&c.source->file).at(c.variable).second;
      if (auto row = station_row(g, grids_.all()[g], c.source->file, along,
                                 elevations && serves(*elevations, g) ? elevations->values : std::vector<double>()))
        rows.push_back(*std::move(row));
    }
    return stations_near(rows, points_);
  }

  Sea sea_by(const Stencil& stencil, const std::optional<FixedField>& mask, std::size_t grid) const {
    if (!mask || stencil.cells == 0 || !serves(*mask, grid)) return Sea::unknown;
    return has_sea_near(stencil, mask->values, grids_.all()[grid].nx()) ? Sea::near : Sea::none;
  }

  void weigh_points() {
    refuse_winds_along_other_grids();
    const auto orography = companion(feed_.orography, Fed::surface_altitude);
    const auto mask = feed_.observed ? std::nullopt : companion(feed_.land_mask, Fed::land_area_fraction);
    const std::size_t main_grid = plan_.fields.empty() ? 0 : plan_.fields.front().grid;
    std::size_t outside = 0, at_sea = 0;
    std::optional<ChosenStations> chosen;
    if (feed_.observed) {
      chosen = choose_stations(orography);
      plan_.stations = chosen->names;
      plan_.near = chosen->near;
      const auto far = std::count(plan_.near.begin(), plan_.near.end(), PointList());
      if (far > 0)
        plan_.note(fmt::format("{} of {} points have no station within {} km and {} m of height", far, points_.size(),
                               kStationReachKm, kStationReachM));
    }
    const std::vector<PointOfInterest>& points = chosen ? chosen->sites : points_;
    if (mask && !plan_.fields.empty() && !serves(*mask, main_grid))
      plan_.refusals.push_back({feed_.land_mask, "", "is on another grid than the run and is not used",
                                "give the land mask on the grid of the forecast"});
    for (std::size_t g = 0; g < grids_.all().size(); ++g) {
      const Grid& grid = grids_.all()[g];
      const auto b = grid.bounds();
      plan_.grids.push_back({grid.kind(), grid.nx(), grid.ny(), b.south, b.north, b.west, b.east});
      std::vector<Stencil> stencils;
      for (std::size_t i = 0; i < points.size(); ++i) {
        Stencil s = chosen ? chosen->stencil(i, g) : grid.stencil({points[i].latitude_deg, points[i].longitude_deg});
        const bool is_inside = s.cells > 0;
        if (g == main_grid) plan_.sea.push_back(sea_by(s, mask, g));
        outside += !chosen && g == main_grid && !is_inside && grid.nx() > 0;
        if (mask && is_inside && serves(*mask, g)) keep_land(s, mask->values, grid.nx());
        at_sea += g == main_grid && is_inside && s.cells == 0;
        stencils.push_back(s);
      }
      plan_.stencils.push_back(std::move(stencils));
    }
    if (outside) plan_.note(fmt::format("{} of {} points lie outside the grid", outside, points_.size()));
    if (at_sea)
      plan_.note(fmt::format("{} of {} points have no land within two cells and get no values", at_sea, points_.size()));
    std::size_t wind_grid = main_grid;
    bool along_grid = false;
    for (const FieldPlan& f : plan_.fields)
      if (!along_grid && (f.fed == Fed::x_wind || f.fed == Fed::level_x_wind)) {
        wind_grid = f.grid;
        along_grid = true;
      }
    for (std::size_t i = 0; i < points.size(); ++i) {
      const GeoPosition p{points[i].latitude_deg, points[i].longitude_deg};
      if (chosen) {
        plan_.wind_rotation_deg.push_back(0);
        plan_.sampled_at.push_back({p.latitude_deg, p.longitude_deg});
        plan_.model_elevation_m.push_back(static_cast<float>(points[i].elevation_m));
        continue;
      }
      const bool placed = !plan_.stencils.empty() && plan_.stencils[main_grid][i].cells > 0;
      plan_.wind_rotation_deg.push_back(along_grid && placed ? static_cast<float>(grids_.all()[wind_grid].rotation_deg(p))
                                                             : 0.0f);
      PointOfInterest sampled{std::nan(""), std::nan("")};
      if (placed) {
        const Stencil& s = plan_.stencils[main_grid][i];
        const auto best = static_cast<std::size_t>(heaviest(s));
        const GeoPosition at = grids_.all()[main_grid].position(s.y[best], s.x[best]);
        sampled = {at.latitude_deg, at.longitude_deg};
      }
      plan_.sampled_at.push_back(sampled);
      double height = std::nan("");
      if (orography) {
        const Stencil s = orography->grid < plan_.stencils.size() ? plan_.stencils[orography->grid][i]
                                                                  : grids_.all()[orography->grid].stencil(p);
        height = mean_of(s, orography->values, grids_.all()[orography->grid].nx());
      }
      plan_.model_elevation_m.push_back(static_cast<float>(height));
    }
  }

  const Feed& feed_;
  const std::vector<PointOfInterest>& points_;
  const NetcdfFile::Need need_;
  RunPlan plan_;
  Errors unreadable_;
  std::vector<std::unique_ptr<OpenFile>> sources_;
  std::vector<Candidate> candidates_;
  std::vector<const Candidate*> candidate_of_, fixed_;  // by field; fields that do not change
  std::map<const NetcdfFile*, std::map<std::size_t, std::pair<std::optional<std::size_t>, std::optional<std::size_t>>>> y_of_;
  Grids grids_{feed_.grid};
  bool reference_stated_ = false;
  std::optional<std::pair<UtcTime, UtcTime>> span_;  // of the run's times
  std::set<double> member_numbers_;                  // as the files number them
  Doubles doubles_{plan_};
};

}  // namespace

void RunPlan::note(std::string sentence) {
  if (std::find(notes.begin(), notes.end(), sentence) == notes.end()) notes.push_back(std::move(sentence));
}

std::string RunPlan::file_name(std::size_t file) const { return files[file].substr(files[file].rfind('/') + 1); }

Result<RunPlan> plan_run(const Feed& feed, const std::vector<std::string>& files, const std::vector<PointOfInterest>& points) {
  return Assembly(feed, files, points).run();
}

Result<UtcTime> reference_time_of(const Feed& feed, const std::string& path) {
  auto plan = Assembly(feed, {path}, {}, NetcdfFile::Need::headers).run();
  if (!plan) return plan.errors();
  if (plan->fields.empty() && plan->steps.empty()) {
    if (plan->refusals.empty())
      return Error{ErrorKind::unsupported, "nothing_known", path, "holds no quantity that is known here",
                   "name its variables in the feed's aliases"};
    Errors errors;
    for (const Refusal& r : plan->refusals)
      errors.push_back({ErrorKind::invalid, "refused", path + (r.variable.empty() ? "" : ": " + r.variable), r.why, r.hint});
    return errors;
  }
  return plan->reference_time;
}

}  // namespace hakea::ingest
