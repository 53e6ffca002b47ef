#include "ingest/format/grib_file.h"

#include <eccodes.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string_view>

namespace hakea::ingest {
namespace {

using std::chrono::minutes;

constexpr const char* kUnsupported = "unsupported";
constexpr const char* kFetchAgain = "fetch the file again; if it stays so, ask its producer";

struct Closer {
  void operator()(std::FILE* file) const { std::fclose(file); }
  void operator()(codes_handle* handle) const { codes_handle_delete(handle); }
};
using Handle = std::unique_ptr<codes_handle, Closer>;

// The fields of a file one after the other; messages of several fields give each.
class Messages {
 public:
  Messages(int descriptor, const std::string& path) : path_(path) {
    codes_context_set_logging_proc(codes_context_get_default(), [](const codes_context*, int, const char*) {});
    codes_grib_multi_support_on(nullptr);
    const int copy = dup(descriptor);
    if (copy >= 0 && lseek(copy, 0, SEEK_SET) == 0) file_.reset(fdopen(copy, "r"));
    if (file_) codes_grib_multi_support_reset_file(nullptr, file_.get());
  }

  // Null at the end, or after a fault.
  Handle next() {
    int status = 0;
    if (!file_) {
      fault_ = Error{ErrorKind::unreadable, "unreadable", path_, "the file cannot be read", "check the disk"};
      return nullptr;
    }
    Handle handle(codes_handle_new_from_file(nullptr, file_.get(), PRODUCT_GRIB, &status));
    if (handle) {
      ++number_;
      return handle;
    }
    if (status != CODES_SUCCESS && status != CODES_END_OF_FILE) fault_ = damaged("cannot be decoded", status);
    return nullptr;
  }

  Error damaged(std::string_view what, int status) const {
    return {ErrorKind::unreadable, "damaged", path_,
            fmt::format("field {} {}: {}", number_ + 1, what, codes_get_error_message(status)), kFetchAgain};
  }
  std::size_t number() const { return number_ - 1; }
  const std::optional<Error>& fault() const { return fault_; }

 private:
  const std::string& path_;
  std::unique_ptr<std::FILE, Closer> file_;
  std::size_t number_ = 0;
  std::optional<Error> fault_;
};

std::string text_of(codes_handle* h, const char* key) {
  std::array<char, 512> value{};
  std::size_t size = value.size();
  if (codes_get_string(h, key, value.data(), &size) != CODES_SUCCESS) return {};
  return value.data();
}

std::optional<long> number_of(codes_handle* h, const char* key) {
  long value = 0;
  int status = 0;
  if (codes_get_long(h, key, &value) != CODES_SUCCESS || codes_is_missing(h, key, &status)) return std::nullopt;
  return value;
}

std::optional<UtcTime> reference_of(codes_handle* h) {
  const auto date = number_of(h, "dataDate"), time = number_of(h, "dataTime");
  if (!date || !time) return std::nullopt;
  const std::chrono::year_month_day day(std::chrono::year(static_cast<int>(*date / 10000)),
                                        std::chrono::month(static_cast<unsigned>(*date / 100 % 100)),
                                        std::chrono::day(static_cast<unsigned>(*date % 100)));
  if (!day.ok()) return std::nullopt;
  return std::chrono::sys_days(day) + std::chrono::hours(*time / 100) + minutes(*time % 100);
}

GribStep step_of(const std::string& type) {
  if (type.empty()) return GribStep::instant;
  const auto known = std::find(kGribSteps.begin(), kGribSteps.end() - 1, type);
  return static_cast<GribStep>(known - kGribSteps.begin());
}

// Where a quantity of the air or the ground usually stands: no suffix is needed to tell its level.
bool is_usual_level(const std::string& type) {
  return type == "surface" || type == "meanSea" || type == "entireAtmosphere" || type == "atmosphere" ||
         type == "atmosphereSingleLayer" || type == "heightAboveGround" || type == "isobaricInhPa" || type == "isobaricInPa";
}

// Parameters of the free air: said of the surface they mean something else than near the ground.
bool is_of_the_air(const std::string& short_name) {
  static const std::set<std::string> kNames{"t", "u", "v", "q", "r", "gh", "z", "pres", "d", "w", "pt"};
  return kNames.contains(short_name);
}

// Means, spreads, probabilities and percentiles of an ensemble (WMO 306, code table 4.0).
bool is_of_members_together(codes_handle* h, long edition) {
  static const std::set<long> kTemplates{2, 3, 4, 5, 6, 9, 10, 12, 13, 14};
  if (edition == 2 && kTemplates.contains(number_of(h, "productDefinitionTemplateNumber").value_or(0))) return true;
  static const std::set<std::string> kTypes{"em", "es", "ep", "pb", "pd"};
  return kTypes.contains(text_of(h, "dataType"));
}

std::string own_name(codes_handle* h, int edition) {
  if (edition == 1)
    return fmt::format("param_{}_{}", number_of(h, "table2Version").value_or(0),
                       number_of(h, "indicatorOfParameter").value_or(0));
  return fmt::format("param_{}_{}_{}", number_of(h, "discipline").value_or(0), number_of(h, "parameterCategory").value_or(0),
                     number_of(h, "parameterNumber").value_or(0));
}

std::string plain_unit(std::string unit) {
  if (unit == "(0 - 1)" || unit == "~" || unit == "Proportion" || unit == "Numeric") return "1";
  return unit == "unknown" ? "" : unit;
}

std::optional<Error> describe(codes_handle* h, const Messages& messages, GribField& field, int& edition) {
  const long of_message = number_of(h, "edition").value_or(0);
  edition = edition < 0 || edition == of_message ? static_cast<int>(of_message) : 0;

  const auto reference = reference_of(h);
  const int minutes_per_step = codes_set_long(h, "stepUnits", 0) == CODES_SUCCESS ? 1 : 60;
  const auto begin = number_of(h, "startStep"), end = number_of(h, "endStep");
  if (!reference || !begin || !end) return messages.damaged("has no time that can be read", CODES_DECODING_ERROR);
  field.reference = *reference;
  field.begin = *reference + minutes(*begin * minutes_per_step);
  field.end = *reference + minutes(*end * minutes_per_step);
  field.step = step_of(text_of(h, "stepType"));
  if (const auto member = number_of(h, "number")) field.member = static_cast<int>(*member);

  const std::string short_name = text_of(h, "shortName"), level_type = text_of(h, "typeOfLevel"), cf = text_of(h, "cfName");
  const bool is_known = !short_name.empty() && short_name != "unknown";
  double level = 0;
  codes_get_double(h, "level", &level);
  field.is_on_pressure = level_type == "isobaricInhPa" || level_type == "isobaricInPa";
  field.has_height = level_type == "heightAboveGround";
  field.level = level_type == "isobaricInPa" ? level / 100 : level;
  field.name = is_known ? short_name : own_name(h, static_cast<int>(of_message));
  const bool has_air = field.has_height || field.is_on_pressure;
  const bool is_usual = is_usual_level(level_type) && (has_air || !is_of_the_air(short_name));
  if (!is_usual) field.name += "_" + (level_type.empty() ? "unknown" : level_type);
  if (!is_usual && level != 0) field.name += fmt::format("_{:g}", level);
  field.is_along_grid = number_of(h, "uvRelativeToGrid").value_or(0) == 1;
  if (is_usual && level_type != "surface" && cf != "unknown") field.standard_name = cf;
  if (is_usual && field.is_along_grid && (short_name == "10u" || short_name == "u" || short_name == "10v" || short_name == "v"))
    field.name = field.standard_name = short_name.ends_with('u') ? "x_wind" : "y_wind";
  const std::string step_type = text_of(h, "stepType");
  if (!is_known && field.step != GribStep::instant) field.name += "_" + step_type;
  // Neither a spread of members nor a difference over time is the weather; a rate of an instant is no amount of an hour.
  const bool is_derived = is_of_members_together(h, of_message);
  const bool is_rate_now = field.step == GribStep::instant && (short_name == "prate" || short_name == "tprate");
  if (is_derived || field.step == GribStep::other || is_rate_now) {
    field.standard_name.clear();
    if (is_derived) field.name += "_of_members";
    if (field.step == GribStep::other && is_known) field.name += "_" + step_type;
    if (is_rate_now) field.name += "_now";
  }
  field.long_name = is_known ? text_of(h, "name") : fmt::format("unknown parameter, level {} {:g}", level_type, level);
  field.unit = plain_unit(text_of(h, "units"));
  return std::nullopt;
}

// The points of a grid with rows, and for each value as it is stored its place in them.
struct Scanned {
  GribGrid grid;
  std::vector<std::uint32_t> place;
};

// Where every other line of points is scanned backwards (WMO 306, flag table 3.4, bit 4), which the library's own pairing of
// points and values does not undo.
void turn_every_other_line(std::vector<std::uint32_t>& place, std::size_t line) {
  for (std::size_t at = line; at + line <= place.size(); at += 2 * line)
    std::reverse(place.begin() + static_cast<std::ptrdiff_t>(at), place.begin() + static_cast<std::ptrdiff_t>(at + line));
}

Result<Scanned> grid_of(codes_handle* h, const Messages& messages, const std::string& path) {
  const std::string type = text_of(h, "gridType");
  const auto unsupported = [&](std::string what) {
    return Error{ErrorKind::unsupported, kUnsupported, path,
                 fmt::format("field {} stands on a grid of type {}, {}", messages.number() + 1, type, what),
                 "accepted: grids with rows and columns of points"};
  };
  auto columns = number_of(h, "Ni"), rows = number_of(h, "Nj");
  if (!columns) columns = number_of(h, "Nx");
  if (!rows) rows = number_of(h, "Ny");
  if (type == "sh") return unsupported("which has coefficients of waves in place of points");
  if (!columns || !rows) return unsupported("whose points do not stand in rows of one length");
  long count = 0;
  if (codes_get_long(h, "numberOfDataPoints", &count) != CODES_SUCCESS || count <= 0)
    return messages.damaged("has no points", CODES_DECODING_ERROR);
  if (*columns <= 0 || *rows <= 0 || *columns > count || *rows * *columns != count)
    return unsupported("whose points do not stand in rows of one length");
  const auto size = static_cast<std::size_t>(count);
  std::vector<double> latitude(size), longitude(size), values(size);
  if (const int status = codes_grib_get_data(h, latitude.data(), longitude.data(), values.data()); status != CODES_SUCCESS)
    return unsupported(fmt::format("whose points cannot be found ({})", codes_get_error_message(status)));

  Scanned scanned;
  scanned.grid.columns = static_cast<std::size_t>(*columns);
  scanned.grid.rows = static_cast<std::size_t>(*rows);
  scanned.grid.is_regular = type == "regular_ll" || type == "regular_gg";
  const bool is_to_and_fro = number_of(h, "alternativeRowScanning").value_or(0) == 1;
  const bool is_by_columns = number_of(h, "jPointsAreConsecutive").value_or(0) == 1;
  const std::size_t line = is_by_columns ? scanned.grid.rows : scanned.grid.columns;
  scanned.place.resize(size);
  if (!scanned.grid.is_regular) {
    // Rows along the grid's x, so that winds along the grid are turned rightly.
    const bool is_x_falling = number_of(h, "iScansNegatively").value_or(0) == 1;
    for (std::size_t n = 0; n < size; ++n) {
      const std::size_t row = is_by_columns ? n % line : n / line, i = is_by_columns ? n / line : n % line;
      scanned.place[n] =
          static_cast<std::uint32_t>(row * scanned.grid.columns + (is_x_falling ? scanned.grid.columns - 1 - i : i));
    }
    scanned.grid.latitude.resize(size);
    scanned.grid.longitude.resize(size);
    for (std::size_t n = 0; n < size; ++n) {
      scanned.grid.latitude[scanned.place[n]] = latitude[n];
      scanned.grid.longitude[scanned.place[n]] = longitude[n];
    }
    if (is_to_and_fro) turn_every_other_line(scanned.place, line);
    return scanned;
  }
  const auto axis = [](const std::vector<double>& all) {
    std::map<double, std::uint32_t> seen;
    std::vector<double> different;
    for (const double x : all)
      if (seen.emplace(x, static_cast<std::uint32_t>(different.size())).second) different.push_back(x);
    return std::pair(std::move(different), std::move(seen));
  };
  auto [latitudes, row_of] = axis(latitude);
  auto [longitudes, column_of] = axis(longitude);
  if (latitudes.size() != scanned.grid.rows || longitudes.size() != scanned.grid.columns)
    return messages.damaged("has points that are not those of its grid", CODES_DECODING_ERROR);
  for (std::size_t i = 0; i < size; ++i)
    scanned.place[i] = row_of.at(latitude[i]) * static_cast<std::uint32_t>(longitudes.size()) + column_of.at(longitude[i]);
  if (is_to_and_fro) turn_every_other_line(scanned.place, line);
  scanned.grid.latitude = std::move(latitudes);
  scanned.grid.longitude = std::move(longitudes);
  return scanned;
}

// Grids of a file, each worked out once.
class GribGrids {
 public:
  // The grid of the field at hand, by its place in scanned().
  Result<std::size_t> find(codes_handle* h, const Messages& messages, const std::string& path) {
    const std::string section = text_of(h, "md5GridSection");
    if (const auto known = by_section_.find(section); known != by_section_.end()) return known->second;
    auto grid = grid_of(h, messages, path);
    if (!grid) return grid.errors();
    scanned_.push_back(*std::move(grid));
    by_section_.emplace(section, scanned_.size() - 1);
    return scanned_.size() - 1;
  }
  const std::vector<Scanned>& scanned() const { return scanned_; }

 private:
  std::map<std::string, std::size_t> by_section_;
  std::vector<Scanned> scanned_;
};

// Values in the order of the grid.
std::optional<Error> decode(codes_handle* h, const Messages& messages, const Scanned& scanned, std::vector<double>& raw,
                            std::vector<float>& values) {
  const std::size_t size = scanned.grid.rows * scanned.grid.columns;
  // The default of the library, 9999, is a height that occurs.
  constexpr double kNoValue = -1e30;
  codes_set_double(h, "missingValue", kNoValue);
  raw.resize(size);
  std::size_t count = size;
  const int status = codes_get_double_array(h, "values", raw.data(), &count);
  if (status != CODES_SUCCESS) return messages.damaged("has values that cannot be decoded", status);
  if (count != size) return messages.damaged("does not have a value for each point", CODES_WRONG_ARRAY_SIZE);
  values.resize(size);
  for (std::size_t i = 0; i < size; ++i)
    values[scanned.place[i]] = raw[i] == kNoValue ? std::numeric_limits<float>::quiet_NaN() : static_cast<float>(raw[i]);
  return std::nullopt;
}

}  // namespace

Result<GribContents> grib_contents(int descriptor, const std::string& path) {
  Messages messages(descriptor, path);
  GribContents contents;
  contents.edition = -1;
  GribGrids grids;
  std::optional<Error> unsupported;  // the first
  while (const Handle h = messages.next()) {
    GribField field;
    field.number = messages.number();
    if (auto fault = describe(h.get(), messages, field, contents.edition)) return *fault;
    const auto grid = grids.find(h.get(), messages, path);
    if (!grid && grid.error().code != kUnsupported) return grid.errors();
    if (!grid) {
      if (!unsupported) unsupported = grid.error();
      contents.passed_over.push_back({std::move(field), grid.error().what});
      continue;
    }
    field.grid = *grid;
    contents.fields.push_back(std::move(field));
  }
  if (messages.fault()) return *messages.fault();
  if (contents.fields.empty() && unsupported) return *unsupported;
  if (contents.fields.empty()) return Error{ErrorKind::unreadable, "damaged", path, "no field of it can be decoded", kFetchAgain};
  for (const Scanned& scanned : grids.scanned()) contents.grids.push_back(scanned.grid);
  return contents;
}

Result<bool> decode_grib(int descriptor, const std::string& path, const GribContents& contents, const GribValues& values) {
  Messages messages(descriptor, path);
  GribGrids grids;
  std::vector<double> raw;
  std::vector<float> decoded;
  auto field = contents.fields.begin();
  while (const Handle h = messages.next()) {
    if (field == contents.fields.end()) break;
    if (field->number != messages.number()) continue;  // passed over
    const auto grid = grids.find(h.get(), messages, path);
    if (!grid) return grid.errors();
    if (auto fault = decode(h.get(), messages, grids.scanned()[*grid], raw, decoded)) return *fault;
    values(*field++, decoded);
  }
  if (messages.fault()) return *messages.fault();
  return true;
}

}  // namespace hakea::ingest
