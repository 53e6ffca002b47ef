#include "ingest/run/variable.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "ingest/cf/alias_proposals.h"
#include "ingest/cf/units.h"

namespace hakea::ingest {
namespace {

// What the library writes where nothing was written (netcdf.h); bytes have none.
std::optional<double> default_fill(ValueType type) {
  switch (type) {
    case ValueType::int16: return -32767;
    case ValueType::uint16: return 65535;
    case ValueType::int32: return -2147483647.0;
    case ValueType::uint32: return 4294967295.0;
    case ValueType::float32:
    case ValueType::float64: return 9.9692099683868690e+36;
    default: return std::nullopt;
  }
}

std::uint64_t digest(const std::vector<double>& numbers) {
  std::uint64_t h = 14695981039346656037ull;  // FNV-1a
  for (const double x : numbers) {
    std::uint64_t bits;
    static_assert(sizeof bits == sizeof x);
    std::memcpy(&bits, &x, sizeof bits);
    h = (h ^ bits) * 1099511628211ull;
  }
  return h;
}

}  // namespace

Decoding decoding_of(const Variable& v, const Meaning& m) {
  const auto& row = core::describe(m.fed);
  Decoding d;
  d.scale = v.number("scale_factor").value_or(1);
  d.offset = v.number("add_offset").value_or(0);
  d.to_unit = m.unit.factor;
  d.unit_offset = m.unit.offset;
  for (const char* name : {"_FillValue", "missing_value"})
    if (const Attribute* a = v.attribute(name))
      // -9999.9 written as a double is another number than the float beside it.
      for (const double x : a->numbers)
        if (std::isfinite(x)) d.missing.push_back(v.type == ValueType::float32 ? static_cast<double>(static_cast<float>(x)) : x);
  if (!v.attribute("_FillValue"))
    if (const auto fill = default_fill(v.type)) d.missing.push_back(*fill);
  const double span = v.unsigned_span();
  const auto as_unsigned = [&](double x) { return x < 0 ? x + span : x; };
  std::transform(d.missing.begin(), d.missing.end(), d.missing.begin(), as_unsigned);
  const bool packed = (d.scale != 1 || d.offset != 0) && v.type != ValueType::float32 && v.type != ValueType::float64;
  bool is_turned = false;
  const auto bound = [&](const char* single, std::size_t of_range) -> std::optional<double> {
    const Attribute *a = v.attribute(single), *range = v.attribute("valid_range");
    const bool by_range = range && range->numbers.size() == 2;
    if (!by_range && (!a || a->numbers.empty())) return std::nullopt;
    const double x = by_range ? range->numbers[of_range] : a->numbers.front();
    // Of packed integers, a range of a wider type is one of the unpacked values (NetCDF User's Guide, appendix A, valid_range).
    if (!packed || !(by_range ? range : a)->is_real) return as_unsigned(x);
    is_turned = d.scale < 0;
    const double raw = (x - d.offset) / d.scale, whole = std::round(raw);
    return std::abs(raw - whole) < 1e-3 ? whole : raw;
  };
  d.valid_min = bound("valid_min", 0);
  d.valid_max = bound("valid_max", 1);
  if (is_turned) std::swap(d.valid_min, d.valid_max);
  d.lowest = row.lowest;
  d.highest = row.highest;
  if (m.unit.form == UnitForm::energy) {  // J m-2 since the start of a run of at most 16 days
    d.lowest = -1e5;
    d.highest = row.highest * 86400 * 16;
  }
  return d;
}

double decoded(const Decoding& d, double raw) {
  if (!std::isfinite(raw) || std::find(d.missing.begin(), d.missing.end(), raw) != d.missing.end() ||
      (d.valid_min && raw < *d.valid_min) || (d.valid_max && raw > *d.valid_max))
    return std::nan("");
  const double x = (raw * d.scale + d.offset) * d.to_unit + d.unit_offset;
  return x >= d.lowest && x <= d.highest ? x : std::nan("");
}

std::vector<double> look_at(const NetcdfFile& file, std::size_t variable, const Decoding& d,
                            const std::vector<std::size_t>& horizontal, Slice at) {
  const Variable& v = file.variables()[variable];
  const auto shape = file.shape_of(variable);
  const auto is_horizontal = [&](std::size_t i) {
    return std::find(horizontal.begin(), horizontal.end(), v.dimensions[i]) != horizontal.end();
  };
  // Where chunks hold many times or levels of few places, a few places are looked at, and without a slice at all that is in
  // their chunk: all places would be the whole variable.
  constexpr std::size_t kMany = 4;
  std::optional<std::size_t> along;
  for (std::size_t i = 0; i < v.chunk_shape.size(); ++i)
    if (!is_horizontal(i) && v.chunk_shape[i] > kMany && (at.dimension < 0 || static_cast<int>(i) == at.dimension)) along = i;
  constexpr std::size_t kAcross = 1000;
  std::vector<std::size_t> start(shape.size(), 0), count(shape.size(), 1);
  std::size_t places = 1;
  for (std::size_t i = 0; i < shape.size(); ++i) {
    if (shape[i] == 0) return {};
    if (static_cast<int>(i) == at.dimension) {
      start[i] = at.index;
    } else if (is_horizontal(i)) {
      count[i] = std::min({shape[i], kAcross, along ? v.chunk_shape[i] : kAcross});
      start[i] = (shape[i] - count[i]) / 2;
      if (along) start[i] -= start[i] % v.chunk_shape[i];
      places *= count[i];
    }
  }
  if (along && at.dimension < 0)
    count[*along] = std::min({shape[*along], v.chunk_shape[*along], std::max<std::size_t>(1, kAcross * kAcross / places)});
  auto raw = file.read(variable, start, count);
  if (!raw) return {};
  for (double& x : *raw) x = decoded(d, x);
  return std::move(*raw);
}

std::optional<Error> settle_unit(const NetcdfFile& file, std::size_t variable, const std::vector<std::size_t>& horizontal,
                                 Meaning& meaning) {
  const bool is_open = meaning.unit.form == UnitForm::fraction;
  if (!is_open && !(meaning.fed == core::Fed::relative_humidity && meaning.stated_unit == "%")) return std::nullopt;
  const Variable& v = file.variables()[variable];
  Meaning raw = meaning;
  if (is_open) raw.unit.factor = 1;
  Decoding d = decoding_of(v, raw);
  if (is_open) d.highest = 110;
  double largest = 0;
  for (const double x : look_at(file, variable, d, horizontal, {})) largest = std::isnan(x) ? largest : std::max(largest, x);
  if (is_open) {
    meaning.unit = settle_fraction(meaning.fed, largest);
    meaning.notes.push_back(v.name + ": " + meaning.unit.note);
  } else if (largest > 0 && largest <= 1.05) {
    return Error{
        ErrorKind::invalid, "unit_doubtful", v.name, fmt::format("is stated in percent but never exceeds {:.3g}", largest),
        fmt::format("if it is a fraction, say so in the feed: {}", as_toml({{base_name(v.name), "relative_humidity [1]"}}))};
  }
  return std::nullopt;
}

void Grids::lay(HorizontalCoordinates& h, const NetcdfFile& file, std::size_t variable,
                const std::vector<std::size_t>& other_roles) const {
  // A latitude without extent, as that of a first cell, places no cells.
  if (!stated_ || h.y_dimension || h.x_dimension || h.sounding) return;
  std::vector<std::size_t> left = file.variables()[variable].dimensions;
  std::erase_if(left, [&](std::size_t d) { return std::find(other_roles.begin(), other_roles.end(), d) != other_roles.end(); });
  if (left.size() < 2) return;
  h.stated = true;
  h.latitude = h.longitude = std::nullopt;
  h.y_dimension = left[left.size() - 2];
  h.x_dimension = left.back();
}

Result<std::size_t> Grids::of(const NetcdfFile& file, const FileCoordinates& coordinates, const HorizontalCoordinates& h) {
  std::string key = fmt::format("{}{}{}{}", h.curvilinear, h.stations, h.transposed, h.sounding);
  for (const auto& c : {h.y, h.x, h.latitude, h.longitude}) {
    const auto numbers = c ? coordinates.numbers(*c) : std::vector<double>();
    key += fmt::format(" {}:{:x}", numbers.size(), digest(numbers));
    if (c) key += unit_text(file.variables()[*c]);
  }
  if (h.stated)
    key += fmt::format(" stated {} {}", file.dimensions()[*h.y_dimension].length, file.dimensions()[*h.x_dimension].length);
  if (h.mapping)
    for (const Attribute& a : file.variables()[*h.mapping].attributes)
      key += fmt::format(" {}={}{:x}", a.name, a.text, digest(a.numbers));
  if (const auto known = known_.find(key); known != known_.end()) return known->second;
  auto grid = build(file, coordinates, h);
  if (!grid) return grid.errors();
  grids_.push_back(std::move(*grid));
  known_.emplace(key, grids_.size() - 1);
  return grids_.size() - 1;
}

Result<Grid> Grids::build(const NetcdfFile& file, const FileCoordinates& coordinates, const HorizontalCoordinates& h) {
  const auto& variables = file.variables();
  const auto two_dimensional = [&]() -> Result<Grid> {
    const std::size_t ny = file.dimensions()[*h.y_dimension].length, nx = file.dimensions()[*h.x_dimension].length;
    auto lat = coordinates.numbers(*h.latitude), lon = coordinates.numbers(*h.longitude);
    if (lat.size() < ny * nx || lon.size() < ny * nx)
      return Error{ErrorKind::invalid, "no_position", variables[*h.latitude].name, "cannot be read",
                   "accepted: latitude and longitude for each cell"};
    lat.resize(ny * nx);  // of coordinates repeated for each time, the first
    lon.resize(ny * nx);
    if (h.transposed) {
      auto turned = [&](const std::vector<double>& a) {
        std::vector<double> b(a.size());
        for (std::size_t y = 0; y < ny; ++y)
          for (std::size_t x = 0; x < nx; ++x) b[y * nx + x] = a[x * ny + y];
        return b;
      };
      lat = turned(lat);
      lon = turned(lon);
    }
    return Grid::curvilinear(std::move(lat), std::move(lon), ny, nx);
  };

  if (h.y && h.x) {
    std::optional<Projection> projection;
    Errors why;
    if (h.mapping) {
      auto p = Projection::of(variables[*h.mapping]);
      if (p)
        projection = std::move(*p);
      else
        why = p.errors();
    } else {
      why = {Error{ErrorKind::incomplete, "projection", variables[*h.y].name,
                   "stands on a projection that the file does not describe",
                   "accepted: a grid_mapping, or two-dimensional latitude and longitude"}};
    }
    if (projection) {
      auto y = coordinates.numbers(*h.y), x = coordinates.numbers(*h.x);
      for (auto [values, c] : {std::pair(&y, *h.y), std::pair(&x, *h.x)}) {
        const std::string unit = unit_text(variables[c]);
        if (projection->in_degrees() || unit.empty()) {
          if (unit.empty() && !projection->in_degrees())
            notes_.push_back(fmt::format("{}: the axis states no unit, metres assumed", variables[c].name));
          continue;
        }
        const auto to = convert_units(unit, "m");
        if (!to)
          return Error{ErrorKind::invalid, "unit_mismatch", variables[c].name,
                       fmt::format("is in \"{}\", where its projection has metres", unit), "accepted: m or km"};
        for (double& value : *values) value = value * to->factor + to->offset;
      }
      const bool plain = projection->kind() == "latitude_longitude";
      if (projection->figure_assumed())
        notes_.push_back(fmt::format("{}: no size of the earth given, a sphere of 6371229 m taken", variables[*h.mapping].name));
      auto grid =
          plain ? Grid::latitude_longitude(std::move(y), std::move(x)) : Grid::projected(*projection, std::move(y), std::move(x));
      if (!grid) {
        Error e = grid.error();
        e.where = variables[*h.y].name;
        return e;
      }
      if (!h.curvilinear) return grid;
      // Where the file also says where its cells are, the projection must agree to half a cell: a sphere taken for an
      // ellipsoid, or another origin, does not.
      const auto cells = two_dimensional();
      if (!cells) return grid;
      const auto apart = [](const GeoPosition& a, const GeoPosition& b) {
        return std::hypot(a.latitude_deg - b.latitude_deg, std::remainder(a.longitude_deg - b.longitude_deg, 360.0) *
                                                               std::cos(a.latitude_deg * std::numbers::pi / 180));
      };
      const auto last_y = static_cast<std::int32_t>(grid->ny()) - 1, last_x = static_cast<std::int32_t>(grid->nx()) - 1;
      for (const auto& [j, i] : {std::pair(0, 0), std::pair(last_y, 0), std::pair(0, last_x), std::pair(last_y, last_x),
                                 std::pair(last_y / 2, last_x / 2)}) {
        const GeoPosition at = grid->position(j, i), next = grid->position(j < last_y ? j + 1 : j - 1, i);
        constexpr double kDigits = 1e-3;  // degrees
        if (!(apart(at, cells->position(j, i)) <= apart(at, next) / 2 + kDigits)) {
          notes_.push_back(
              fmt::format("{}: the projection and the places of the cells disagree; their latitudes and longitudes are used",
                          variables[*h.mapping].name));
          return cells;
        }
      }
      return grid;
    }
    if (!h.curvilinear) {
      if (why.front().where.empty()) why.front().where = h.mapping ? variables[*h.mapping].name : variables[*h.y].name;
      return why;
    }
    notes_.push_back(
        fmt::format("{}: the projection cannot be used, latitude and longitude of the cells are", variables[*h.y].name));
  }
  if (h.curvilinear) return two_dimensional();
  if (h.stated) return Grid::stated(*stated_, file.dimensions()[*h.y_dimension].length, file.dimensions()[*h.x_dimension].length);
  if (!h.latitude) return Grid::nowhere();
  auto lat = coordinates.numbers(*h.latitude), lon = coordinates.numbers(*h.longitude);
  if (lat.empty() || lon.empty())
    return Error{ErrorKind::invalid, "no_position", variables[*h.latitude].name, "cannot be read", "accepted: numbers"};
  if (h.sounding) {
    for (std::size_t i = 0; i < std::min(lat.size(), lon.size()); ++i)
      if (std::isfinite(lat[i]) && std::isfinite(lon[i])) return Grid::places({lat[i]}, {lon[i]});
    return Grid::nowhere();
  }
  if (h.stations) return Grid::places(std::move(lat), std::move(lon));
  auto grid = Grid::latitude_longitude(std::move(lat), std::move(lon));
  if (grid) return grid;
  Error e = grid.error();
  e.where = variables[e.code == "latitude" ? *h.latitude : *h.longitude].name;
  return e;
}

}  // namespace hakea::ingest
