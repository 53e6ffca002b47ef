#include "ingest/format/grib_as_netcdf.h"

#include <fcntl.h>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <map>
#include <set>
#include <tuple>

#include "ingest/format/grib_file.h"
#include "ingest/format/netcdf_output.h"
#include "ingest/format/scratch_file.h"

namespace hakea::ingest {
namespace {

using Attributes = NetcdfOutput::Attributes;
using Span = std::pair<UtcTime, UtcTime>;  // begin and end of what a value is of; an instant's are equal

// What fields of one variable share.
struct Key {
  std::string name;
  GribStep step;
  bool is_on_pressure;
  double height;  // NaN-free: -1 without one
  std::size_t grid;
  int copy = 0;  // a field that comes twice goes on in a variable of its own: what that means is decided later
  auto operator<=>(const Key&) const = default;
};

Key key_of(const GribField& f) { return {f.name, f.step, f.is_on_pressure, f.has_height ? f.level : -1, f.grid}; }

Span span_of(const GribField& f) { return f.step == GribStep::instant ? Span(f.end, f.end) : Span(f.begin, f.end); }

std::string_view cell_method(GribStep step) {
  switch (step) {
    case GribStep::accum: return "time: sum";
    case GribStep::avg: return "time: mean";
    case GribStep::max: return "time: maximum";
    case GribStep::min: return "time: minimum";
    default: return "time: point";
  }
}

double unix_seconds(UtcTime t) { return static_cast<double>(t.time_since_epoch().count()); }

// One variable of the copy, and where its fields go.
struct Layout {
  const GribField* first = nullptr;
  std::set<Span> spans;
  std::set<int> members;
  std::set<double, std::greater<>> levels;  // hPa, from the ground up; empty off pressure levels
  int variable = -1;
};

class Copy {
 public:
  Copy(const GribContents& contents, const std::string& scratch, GribCopy what)
      : contents_(contents), out_(scratch, what == GribCopy::whole ? NetcdfOutput::Form::scratch : NetcdfOutput::Form::headers) {
    std::map<std::tuple<Key, Span, int, double>, int> copies;
    for (const GribField& field : contents.fields) {
      Key key = key_of(field);
      key.copy = copies[{key, span_of(field), field.member, field.is_on_pressure ? field.level : 0}]++;
      Layout& layout = layouts_[key];
      layout_of_.push_back(&layout);
      if (!layout.first) layout.first = &field;
      layout.spans.insert(span_of(field));
      layout.members.insert(field.member);
      if (field.is_on_pressure) layout.levels.insert(field.level);
      references_.insert(field.reference);
    }
  }

  // Several reference times are those of analyses, where no field has a step; else there would be several runs.
  bool has_mixed_runs() const {
    return references_.size() > 1 &&
           std::any_of(contents_.fields.begin(), contents_.fields.end(), [](const GribField& f) { return f.end != f.reference; });
  }
  const std::set<UtcTime>& references() const { return references_; }

  // Defines everything, then the coordinates' values are written.
  void define() {
    for (std::size_t g = 0; g < contents_.grids.size(); ++g) define_grid(g);
    if (references_.size() == 1)
      reference_ = out_.variable("forecast_reference_time", {},
                                 {{"standard_name", "forecast_reference_time"}, {"units", "seconds since 1970-01-01 00:00:00"}});
    std::set<std::string> names;
    for (auto& [key, layout] : layouts_) {
      std::string name = key.name;
      if (names.contains(name)) name += fmt::format("_{}", word(key.step));
      for (int n = 2; !names.insert(name).second; ++n) name = fmt::format("{}_{}", key.name, n);
      define_variable(name, key, layout);
    }
    // What is passed over stands there by name, so that it can be said.
    std::set<std::string> passed_over;
    for (const auto& [field, why] : contents_.passed_over) {
      if (!passed_over.insert(field.name).second) continue;
      const std::string as = names.insert(field.name).second ? field.name : field.name + "_passed_over";
      out_.variable(as, {}, {{"long_name", field.long_name}, {"units", field.unit}, {kUnreadableAttribute, why}});
    }
    if (reference_ >= 0) out_.write(reference_, std::vector<double>{unix_seconds(*references_.begin())});
    for (const auto& [variable, values] : pending_) out_.write(variable, values);
    pending_.clear();
  }

  void put(const GribField& field, const std::vector<float>& values) {
    const Layout& layout = *layout_of_.at(static_cast<std::size_t>(&field - contents_.fields.data()));
    const auto place = [](const auto& set, const auto& value) {
      return static_cast<std::size_t>(std::distance(set.begin(), set.find(value)));
    };
    const GribGrid& grid = contents_.grids[field.grid];
    std::vector<std::size_t> start{place(layout.spans, span_of(field))}, count{1};
    if (layout.members.size() > 1) start.push_back(place(layout.members, field.member)), count.push_back(1);
    if (!layout.levels.empty()) start.push_back(place(layout.levels, field.level)), count.push_back(1);
    start.insert(start.end(), {0, 0});
    count.insert(count.end(), {grid.rows, grid.columns});
    out_.write_part(layout.variable, start, count, values);
  }

  Result<std::filesystem::path> close() { return out_.close(); }

 private:
  std::string name(const std::string& base) {
    const int n = ++used_names_[base];
    return n == 1 ? base : fmt::format("{}_{}", base, n);
  }
  int coordinate(const std::string& name, const std::vector<int>& dimensions, const Attributes& attributes,
                 std::vector<double> values) {
    const int id = out_.variable(name, dimensions, attributes);
    pending_.emplace_back(id, std::move(values));
    return id;
  }

  void define_grid(std::size_t g) {
    const GribGrid& grid = contents_.grids[g];
    const std::string suffix = g == 0 ? "" : fmt::format("_{}", g + 1);
    const Attributes north{{"standard_name", "latitude"}, {"units", "degrees_north"}};
    const Attributes east{{"standard_name", "longitude"}, {"units", "degrees_east"}};
    const std::string latitude = "latitude" + suffix, longitude = "longitude" + suffix;
    Axes axes;
    if (grid.is_regular) {
      axes = {out_.dimension(latitude, grid.rows), out_.dimension(longitude, grid.columns), ""};
      coordinate(latitude, {axes.rows}, north, grid.latitude);
      coordinate(longitude, {axes.columns}, east, grid.longitude);
    } else {
      axes = {out_.dimension("y" + suffix, grid.rows), out_.dimension("x" + suffix, grid.columns), latitude + " " + longitude};
      coordinate(latitude, {axes.rows, axes.columns}, north, grid.latitude);
      coordinate(longitude, {axes.rows, axes.columns}, east, grid.longitude);
    }
    axes_.push_back(std::move(axes));
  }

  // Variables with the same times share them.
  int time_dimension(const Layout& layout, bool has_bounds) {
    const auto [known, is_new] = times_.try_emplace({layout.spans, has_bounds}, -1);
    if (!is_new) return known->second;
    const std::string time = name("time");
    known->second = out_.dimension(time, layout.spans.size());
    Attributes attributes{{"standard_name", "time"}, {"units", "seconds since 1970-01-01 00:00:00"}, {"calendar", "standard"}};
    if (has_bounds) attributes.emplace_back("bounds", time + "_bounds");
    std::vector<double> ends, bounds;
    for (const auto& [begin, end] : layout.spans) {
      ends.push_back(unix_seconds(end));
      bounds.insert(bounds.end(), {unix_seconds(begin), unix_seconds(end)});
    }
    coordinate(time, {known->second}, attributes, std::move(ends));
    if (!has_bounds) return known->second;
    if (two_ < 0) two_ = out_.dimension("two", 2);
    coordinate(time + "_bounds", {known->second, two_}, {}, std::move(bounds));
    return known->second;
  }

  int level_dimension(const Layout& layout) {
    const auto [known, is_new] = levels_.try_emplace(layout.levels, -1);
    if (!is_new) return known->second;
    const std::string level = name("pressure");
    known->second = out_.dimension(level, layout.levels.size());
    coordinate(level, {known->second}, {{"standard_name", "air_pressure"}, {"units", "hPa"}},
               {layout.levels.begin(), layout.levels.end()});
    return known->second;
  }

  int member_dimension(const Layout& layout) {
    const auto [known, is_new] = members_.try_emplace(layout.members, -1);
    if (!is_new) return known->second;
    const std::string member = name("member");
    known->second = out_.dimension(member, layout.members.size());
    coordinate(member, {known->second}, {{"standard_name", "realization"}, {"units", "1"}},
               {layout.members.begin(), layout.members.end()});
    return known->second;
  }

  std::string height_coordinate(double height) {
    const auto [known, is_new] = heights_.try_emplace(height, "");
    if (is_new) {
      known->second = name("height");
      coordinate(known->second, {}, {{"standard_name", "height"}, {"units", "m"}, {"positive", "up"}}, {height});
    }
    return known->second;
  }

  std::string member_coordinate(int member) {
    const auto [known, is_new] = single_members_.try_emplace(member, "");
    if (is_new) {
      known->second = name("member");
      coordinate(known->second, {}, {{"standard_name", "realization"}, {"units", "1"}}, {static_cast<double>(member)});
    }
    return known->second;
  }

  void define_variable(const std::string& as, const Key& key, Layout& layout) {
    const GribField& field = *layout.first;
    const Axes& axes = axes_[key.grid];
    const bool has_bounds = key.step != GribStep::instant;
    std::vector<int> dimensions{time_dimension(layout, has_bounds)};
    if (layout.members.size() > 1) dimensions.push_back(member_dimension(layout));
    if (key.is_on_pressure) dimensions.push_back(level_dimension(layout));
    dimensions.insert(dimensions.end(), {axes.rows, axes.columns});
    Attributes attributes{
        {"long_name", field.long_name}, {"units", field.unit}, {"cell_methods", std::string(cell_method(key.step))}};
    if (!field.standard_name.empty()) attributes.emplace_back("standard_name", field.standard_name);
    if (field.is_along_grid) attributes.emplace_back("GRIB_uvRelativeToGrid", "1");
    std::string coordinates = axes.two_dimensional;
    if (key.height >= 0) coordinates += (coordinates.empty() ? "" : " ") + height_coordinate(key.height);
    if (layout.members.size() == 1 && *layout.members.begin() >= 0)
      coordinates += (coordinates.empty() ? "" : " ") + member_coordinate(*layout.members.begin());
    if (!coordinates.empty()) attributes.emplace_back("coordinates", coordinates);
    layout.variable = out_.float_variable(as, dimensions, attributes);
  }

  struct Axes {
    int rows = -1, columns = -1;
    std::string two_dimensional;  // names of the coordinates of every point
  };

  const GribContents& contents_;
  NetcdfOutput out_;
  std::map<Key, Layout> layouts_;
  std::vector<const Layout*> layout_of_;  // by field of the contents
  std::set<UtcTime> references_;
  std::vector<Axes> axes_;
  std::map<std::pair<std::set<Span>, bool>, int> times_;
  std::map<std::set<double, std::greater<>>, int> levels_;
  std::map<std::set<int>, int> members_;
  std::map<double, std::string> heights_;
  std::map<int, std::string> single_members_;
  std::map<std::string, int> used_names_;
  std::vector<std::pair<int, std::vector<double>>> pending_;  // coordinates, to be written when all is defined
  int two_ = -1, reference_ = -1;
};

Result<GribAsNetcdf> laid_out(int descriptor, const std::string& path, GribCopy what) {
  const auto contents = grib_contents(descriptor, path);
  if (!contents) return contents.errors();
  const auto unwritable = [&](std::string_view why) {
    return Error{ErrorKind::failed, "unwritable", path, fmt::format("its fields cannot be laid out in a temporary file: {}", why),
                 "look at the temporary folder (TMPDIR): it must be writable and have room"};
  };
  const int scratch = scratch_file();
  if (scratch < 0) return unwritable(std::strerror(errno));
  Copy copy(*contents, fmt::format("/proc/self/fd/{}", scratch), what);
  if (copy.has_mixed_runs()) {
    ::close(scratch);
    return Error{ErrorKind::invalid, "mixed_runs", path,
                 fmt::format("holds several runs: {:%Y-%m-%dT%H:%M}Z to {:%Y-%m-%dT%H:%M}Z", *copy.references().begin(),
                             *copy.references().rbegin()),
                 "give the fields of each reference time in files of their own"};
  }
  copy.define();
  const auto decoded =
      what == GribCopy::headers
          ? Result<bool>(true)
          : decode_grib(descriptor, path, *contents,
                        [&](const GribField& field, const std::vector<float>& values) { copy.put(field, values); });
  const auto closed = copy.close();
  if (!decoded || !closed) {
    ::close(scratch);
    if (!decoded) return decoded.errors();
    return unwritable(closed.error().what);
  }
  return GribAsNetcdf{scratch, contents->edition == 1 ? "grib1" : contents->edition == 2 ? "grib2" : "grib1 and grib2"};
}

// A file is opened once to plan a run and once to read it; its copy is made once.
using Identity = std::tuple<dev_t, ino_t, off_t, std::int64_t, std::int64_t>;

std::map<Identity, GribAsNetcdf>& copies() {
  static std::map<Identity, GribAsNetcdf> all;
  return all;
}
constexpr std::size_t kMostCopies = 32;  // kept open at once

}  // namespace

Result<GribAsNetcdf> grib_as_netcdf(int descriptor, const std::string& path, GribCopy what) {
  struct stat status {};
  if (fstat(descriptor, &status) != 0)
    return Error{ErrorKind::unreadable, "unreadable", path, "the file cannot be read", "check the disk"};
  const Identity identity(status.st_dev, status.st_ino, status.st_size, status.st_mtim.tv_sec, status.st_mtim.tv_nsec);
  auto known = copies().find(identity);
  if (known == copies().end()) {
    auto made = laid_out(descriptor, path, what);
    if (!made || what == GribCopy::headers || copies().size() >= kMostCopies) return made;
    known = copies().emplace(identity, *std::move(made)).first;
  }
  const int again = fcntl(known->second.descriptor, F_DUPFD_CLOEXEC, 0);
  if (again < 0)
    return Error{ErrorKind::failed, "unwritable", path, "this process may open no more files", "give fewer files at once"};
  return GribAsNetcdf{again, known->second.format};
}

}  // namespace hakea::ingest
