#include "ingest/grid/grid.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "core/base/numbers.h"

namespace hakea::ingest {
namespace {

using Vector = std::array<double, 3>;

Vector unit_vector(double latitude_deg, double longitude_deg) {
  const double phi = latitude_deg * kDegree, lambda = longitude_deg * kDegree;
  return {std::cos(phi) * std::cos(lambda), std::cos(phi) * std::sin(lambda), std::sin(phi)};
}

double dot(const Vector& a, const Vector& b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }

// East and north at a place, as directions in space.
struct Plane {
  Vector east, north;
  explicit Plane(GeoPosition p) : east{-std::sin(p.longitude_deg * kDegree), std::cos(p.longitude_deg * kDegree), 0}, north{} {
    const Vector v = unit_vector(p.latitude_deg, p.longitude_deg);
    north = {-v[2] * east[1], v[2] * east[0], v[0] * east[1] - v[1] * east[0]};
  }
};

Stencil single(std::int32_t y, std::int32_t x) {
  Stencil s;
  s.y[0] = y;
  s.x[0] = x;
  s.weight[0] = 1;
  s.cells = 1;
  return s;
}

Stencil bilinear(const Axis::Place& y, const Axis::Place& x) {
  Stencil s;
  for (const bool up : {false, true})
    for (const bool right : {false, true}) {
      const double w = (up ? y.weight_above : 1 - y.weight_above) * (right ? x.weight_above : 1 - x.weight_above);
      if (w <= 0) continue;
      const auto i = static_cast<std::size_t>(s.cells++);
      s.y[i] = up ? y.above : y.below;
      s.x[i] = right ? x.above : x.below;
      s.weight[i] = static_cast<float>(w);
    }
  return s;
}

}  // namespace

int heaviest(const Stencil& s) {
  int best = -1;
  for (int i = 0; i < s.cells; ++i)
    if (best < 0 || s.weight[static_cast<std::size_t>(i)] > s.weight[static_cast<std::size_t>(best)]) best = i;
  return best;
}

Result<Axis> Axis::of(std::vector<double> values, bool around) {
  if (values.empty()) return Error{ErrorKind::invalid, "too_short", "", "is empty", "a coordinate for each cell"};
  for (const double v : values)
    if (!std::isfinite(v))
      return Error{ErrorKind::invalid, "not_monotone", "", "holds missing values", "a coordinate for each cell"};
  if (around)  // 359.95, 0.05 goes on as 360.05
    for (std::size_t i = 1; i < values.size(); ++i) values[i] = values[i - 1] + std::remainder(values[i] - values[i - 1], 360.0);
  for (std::size_t i = 1; i < values.size(); ++i)
    if ((values[i] > values[i - 1]) != (values[1] > values[0]) || values[i] == values[i - 1])
      return Error{ErrorKind::invalid, "not_monotone", "",
                   fmt::format("neither rises nor falls throughout ({} after {})", values[i], values[i - 1]),
                   "axes must be monotone"};
  Axis axis;
  axis.around_ = around;
  if (around && values.size() > 2) {
    const double span = std::abs(values.back() - values.front()), step = span / static_cast<double>(values.size() - 1);
    if (span > 360 + step / 2)
      return Error{ErrorKind::invalid, "not_monotone", "", fmt::format("spans {} degrees", span),
                   "at most once around the globe"};
    axis.closed_ = 360 - span < 1.5 * step;
  }
  axis.values_ = std::move(values);
  return axis;
}

std::optional<Axis::Place> Axis::find(double value) const {
  if (!std::isfinite(value)) return std::nullopt;
  const std::size_t n = values_.size();
  const bool rising = n < 2 || values_[1] > values_[0];
  const double low = lowest(), high = highest();
  // Noise of single precision coordinates must not put a point on the edge outside.
  const double slack = 2e-7 * std::max({std::abs(low), std::abs(high), 1e-30});
  if (around_) {
    value = low + std::fmod(std::fmod(value - low, 360.0) + 360.0, 360.0);
    if (value > high + slack && value - 360 >= low - slack) value -= 360;
  }
  if (n == 1) return std::abs(value - low) <= slack ? std::optional(Place{0, 0, 0}) : std::nullopt;
  if (value < low - slack || value > high + slack) {
    if (!closed_ || value < low) return std::nullopt;
    // The seam: between the last column and the first.
    const auto last = static_cast<std::int32_t>(rising ? n - 1 : 0), first = static_cast<std::int32_t>(rising ? 0 : n - 1);
    const double gap = low + 360 - high;
    return gap > 0 ? Place{last, first, (value - high) / gap} : Place{last, last, 0};
  }
  value = std::clamp(value, low, high);
  std::size_t above;
  if (rising)
    above = static_cast<std::size_t>(std::upper_bound(values_.begin(), values_.end(), value) - values_.begin());
  else
    above = static_cast<std::size_t>(std::upper_bound(values_.begin(), values_.end(), value, std::greater<>()) - values_.begin());
  above = std::clamp<std::size_t>(above, 1, n - 1);
  const double share = (value - values_[above - 1]) / (values_[above] - values_[above - 1]);
  return Place{static_cast<std::int32_t>(above - 1), static_cast<std::int32_t>(above), std::clamp(share, 0.0, 1.0)};
}

bool Axis::even() const {
  const double step = values_.size() < 2 ? 0 : (values_.back() - values_.front()) / static_cast<double>(values_.size() - 1);
  for (std::size_t i = 1; i < values_.size(); ++i)
    if (std::abs(values_[i] - values_[i - 1] - step) > 1e-3 * std::abs(step) + 2e-6 * std::max(std::abs(values_[i]), 1.0))
      return false;
  return true;
}

Result<Grid> Grid::latitude_longitude(std::vector<double> latitudes, std::vector<double> longitudes) {
  for (const double v : latitudes)
    if (!(std::abs(v) <= 90.001))
      return Error{ErrorKind::invalid, "latitude", "", fmt::format("holds the latitude {}", v), "latitudes between -90 and 90"};
  if (latitudes.size() == 1 && longitudes.size() == 1) return places(std::move(latitudes), std::move(longitudes));
  Grid g;
  auto y = Axis::of(std::move(latitudes), false);
  if (!y) return y.errors();
  auto x = Axis::of(std::move(longitudes), true);
  if (!x) return x.errors();
  g.y_axis_ = std::move(*y);
  g.x_axis_ = std::move(*x);
  g.ny_ = g.y_axis_.size();
  g.nx_ = g.x_axis_.size();
  g.kind_ = g.y_axis_.even() ? "latitude_longitude" : "gaussian";
  return g;
}

Result<Grid> Grid::projected(Projection projection, std::vector<double> y_values, std::vector<double> x_values) {
  Grid g;
  auto y = Axis::of(std::move(y_values), false);
  if (!y) return y.errors();
  auto x = Axis::of(std::move(x_values), projection.in_degrees());
  if (!x) return x.errors();
  g.y_axis_ = std::move(*y);
  g.x_axis_ = std::move(*x);
  g.ny_ = g.y_axis_.size();
  g.nx_ = g.x_axis_.size();
  g.kind_ = projection.kind();
  g.projection_ = std::move(projection);
  return g;
}

Result<Grid> Grid::stated(const StatedGrid& stated, std::size_t ny, std::size_t nx) {
  const auto projection = Projection::of_definition(stated.projection);
  if (!projection) return projection.errors();
  for (const double step : {stated.x_step, stated.y_step})
    if (!std::isfinite(step) || step == 0)
      return Error{ErrorKind::invalid, "step", "", fmt::format("has a step of {}", step),
                   "from one cell to the next: metres, or degrees of a globe"};
  const bool plain = projection->kind() == "latitude_longitude";
  const GeoPosition first{stated.first_latitude_deg, stated.first_longitude_deg};
  const PlanePosition origin = plain ? PlanePosition{first.longitude_deg, first.latitude_deg} : projection->forward(first);
  if (!(std::abs(first.latitude_deg) <= 90) || !std::isfinite(origin.x) || !std::isfinite(origin.y))
    return Error{ErrorKind::invalid, "first", "",
                 fmt::format("begins at latitude {}, longitude {}, which its projection has no place for", first.latitude_deg,
                             first.longitude_deg),
                 "first = [latitude, longitude] of the cell that stands first in the file"};
  std::vector<double> y(ny), x(nx);
  for (std::size_t j = 0; j < ny; ++j) y[j] = origin.y + stated.y_step * static_cast<double>(j);
  for (std::size_t i = 0; i < nx; ++i) x[i] = origin.x + stated.x_step * static_cast<double>(i);
  return plain ? latitude_longitude(std::move(y), std::move(x)) : projected(*projection, std::move(y), std::move(x));
}

Result<Grid> Grid::curvilinear(std::vector<double> latitudes, std::vector<double> longitudes, std::size_t ny, std::size_t nx) {
  HAKEA_EXPECT(latitudes.size() == ny * nx && longitudes.size() == ny * nx);
  if (ny < 2 || nx < 2)
    return Error{ErrorKind::invalid, "too_short", "", fmt::format("has {} by {} cells", nx, ny),
                 "at least two cells in each direction"};
  Grid g;
  g.kind_ = "curvilinear";
  g.ny_ = ny;
  g.nx_ = nx;
  g.latitude_ = std::move(latitudes);
  g.longitude_ = std::move(longitudes);
  g.build(0, static_cast<std::int32_t>(ny) - 1, 0, static_cast<std::int32_t>(nx) - 1);
  return g;
}

Grid Grid::places(std::vector<double> latitudes, std::vector<double> longitudes) {
  Grid g;
  g.ny_ = 1;
  g.nx_ = longitudes.size();
  g.kind_ = g.nx_ == 1 ? "single_point" : "stations";
  g.latitude_ = std::move(latitudes);
  g.longitude_ = std::move(longitudes);
  return g;
}

Grid Grid::nowhere() {
  Grid g;
  g.kind_ = "no_position";
  return g;
}

// Halves the cells until a block is one cell; each block knows the box of unit vectors around its nodes.
std::int32_t Grid::build(std::int32_t y0, std::int32_t y1, std::int32_t x0, std::int32_t x1) {
  const auto index = static_cast<std::int32_t>(blocks_.size());
  blocks_.push_back({y0, y1, x0, x1, {2, 2, 2}, {-2, -2, -2}, -1, -1});
  Block b = blocks_.back();
  if (y1 - y0 == 1 && x1 - x0 == 1) {
    for (const auto y : {y0, y1})
      for (const auto x : {x0, x1}) {
        const auto i = static_cast<std::size_t>(y) * nx_ + static_cast<std::size_t>(x);
        const Vector v = unit_vector(latitude_[i], longitude_[i]);
        for (std::size_t k = 0; k < 3; ++k) {
          if (!std::isfinite(v[k])) return index;  // a missing corner: the empty box catches nothing
          b.low[k] = std::min(b.low[k], v[k]);
          b.high[k] = std::max(b.high[k], v[k]);
        }
      }
    // The sphere bulges above the chord.
    double size = 0;
    for (std::size_t k = 0; k < 3; ++k) size = std::max(size, b.high[k] - b.low[k]);
    for (std::size_t k = 0; k < 3; ++k) {
      b.low[k] -= size * size + 1e-9;
      b.high[k] += size * size + 1e-9;
    }
  } else {
    const bool split_y = y1 - y0 >= x1 - x0;
    const std::int32_t middle = split_y ? (y0 + y1) / 2 : (x0 + x1) / 2;
    b.left = split_y ? build(y0, middle, x0, x1) : build(y0, y1, x0, middle);
    b.right = split_y ? build(middle, y1, x0, x1) : build(y0, y1, middle, x1);
    for (const auto child : {b.left, b.right})
      for (std::size_t k = 0; k < 3; ++k) {
        b.low[k] = std::min(b.low[k], blocks_[static_cast<std::size_t>(child)].low[k]);
        b.high[k] = std::max(b.high[k], blocks_[static_cast<std::size_t>(child)].high[k]);
      }
  }
  blocks_[static_cast<std::size_t>(index)] = b;
  return index;
}

std::optional<Grid::Quad> Grid::quad_of(GeoPosition p) const {
  if (blocks_.empty()) return std::nullopt;
  const Vector v = unit_vector(p.latitude_deg, p.longitude_deg);
  // Corners are seen from the point's centre of projection (gnomonic), where great circles are straight.
  const Plane plane(p);
  std::vector<std::int32_t> open{0};
  while (!open.empty()) {
    const Block& b = blocks_[static_cast<std::size_t>(open.back())];
    open.pop_back();
    bool inside = true;
    for (std::size_t k = 0; k < 3; ++k) inside = inside && v[k] >= b.low[k] && v[k] <= b.high[k];
    if (!inside) continue;
    if (b.left >= 0) {
      open.push_back(b.right);
      open.push_back(b.left);
      continue;
    }
    std::array<double, 4> ex{}, ny{};  // corners (y0,x0) (y0,x1) (y1,x0) (y1,x1) in the tangent plane
    bool visible = true;
    for (std::size_t c = 0; c < 4; ++c) {
      const auto i = static_cast<std::size_t>(c < 2 ? b.y0 : b.y1) * nx_ + static_cast<std::size_t>(c % 2 ? b.x1 : b.x0);
      const Vector u = unit_vector(latitude_[i], longitude_[i]);
      const double depth = dot(u, v);
      visible = visible && depth > 0.1;
      ex[c] = dot(u, plane.east) / depth;
      ny[c] = dot(u, plane.north) / depth;
    }
    if (!visible) continue;
    // Inverse of the bilinear map by Newton's method; the point itself is the origin.
    double s = 0.5, t = 0.5;
    for (int round = 0; round < 20; ++round) {
      const double fx = (1 - t) * ((1 - s) * ex[0] + s * ex[1]) + t * ((1 - s) * ex[2] + s * ex[3]);
      const double fy = (1 - t) * ((1 - s) * ny[0] + s * ny[1]) + t * ((1 - s) * ny[2] + s * ny[3]);
      const double xs = (1 - t) * (ex[1] - ex[0]) + t * (ex[3] - ex[2]), xt = (1 - s) * (ex[2] - ex[0]) + s * (ex[3] - ex[1]);
      const double ys = (1 - t) * (ny[1] - ny[0]) + t * (ny[3] - ny[2]), yt = (1 - s) * (ny[2] - ny[0]) + s * (ny[3] - ny[1]);
      const double det = xs * yt - xt * ys;
      if (det == 0) break;
      const double ds = (fx * yt - fy * xt) / det, dt = (xs * fy - ys * fx) / det;
      s -= ds;
      t -= dt;
      if (std::abs(ds) + std::abs(dt) < 1e-12) break;
    }
    constexpr double kEdge = 1e-6;
    if (s >= -kEdge && s <= 1 + kEdge && t >= -kEdge && t <= 1 + kEdge)
      return Quad{b.y0, b.x0, std::clamp(s, 0.0, 1.0), std::clamp(t, 0.0, 1.0)};
  }
  return std::nullopt;
}

Stencil Grid::stencil(GeoPosition p) const {
  if (kind_ == "curvilinear") {
    const auto q = quad_of(p);
    if (!q) return {};
    return bilinear({q->y, q->y + 1, q->t}, {q->x, q->x + 1, q->s});
  }
  if (kind_ == "single_point" || kind_ == "stations") {
    Stencil best;
    double nearest = kReachDeg;
    for (std::size_t i = 0; i < latitude_.size(); ++i) {
      const double distance = std::hypot(latitude_[i] - p.latitude_deg, std::remainder(longitude_[i] - p.longitude_deg, 360.0) *
                                                                            std::cos(p.latitude_deg * kDegree));
      if (distance <= nearest) {
        nearest = distance;
        best = single(0, static_cast<std::int32_t>(i));
      }
    }
    return best;
  }
  if (nx_ == 0) return {};
  const PlanePosition plane = projection_ ? projection_->forward(p) : PlanePosition{p.longitude_deg, p.latitude_deg};
  const auto y = y_axis_.find(plane.y), x = x_axis_.find(plane.x);
  return y && x ? bilinear(*y, *x) : Stencil{};
}

double Grid::rotation_deg(GeoPosition p) const {
  if (projection_) return projection_->rotation_deg(p);
  if (kind_ != "curvilinear") return 0;
  const auto q = quad_of(p);
  if (!q) return std::nan("");
  // The direction of the rows, along which is the grid's x: at each corner of the cell that of the chord between its neighbours,
  // in space, so that neither a wide cell nor a pole nearby bends it; then between the corners.
  const auto last = static_cast<std::int32_t>(nx_) - 1;
  const auto chord = [&](std::int32_t y, std::int32_t x) {
    Vector d{};
    const auto add = [&](std::int32_t to, std::int32_t weight) {
      const GeoPosition g = position(y, to);
      const Vector v = unit_vector(g.latitude_deg, g.longitude_deg);
      for (std::size_t k = 0; k < 3; ++k) d[k] += weight * v[k];
    };
    const std::int32_t inward = x == 0 ? 1 : -1;
    if (x > 0 && x < last)
      add(x + 1, 1), add(x - 1, -1);
    else if (last < 2)
      add(last, 1), add(0, -1);
    else  // of second order at the ends of a row too
      add(x, -3 * inward), add(x + inward, 4 * inward), add(x + 2 * inward, -inward);
    return d;
  };
  const Plane plane(p);
  double east = 0, north = 0;
  for (const auto& [j, i, weight] :
       {std::tuple(0, 0, (1 - q->t) * (1 - q->s)), {0, 1, (1 - q->t) * q->s}, {1, 0, q->t * (1 - q->s)}, {1, 1, q->t * q->s}}) {
    const Vector d = chord(q->y + j, q->x + i);
    const double length = std::sqrt(dot(d, d));
    if (!(length > 0)) continue;
    east += weight * dot(d, plane.east) / length;
    north += weight * dot(d, plane.north) / length;
  }
  return -std::atan2(north, east) / kDegree;
}

GeoPosition Grid::position(std::int32_t y, std::int32_t x) const {
  const auto j = static_cast<std::size_t>(y), i = static_cast<std::size_t>(x);
  if (!latitude_.empty()) return {latitude_[j * nx_ + i], longitude_[j * nx_ + i]};
  if (nx_ == 0) return {std::nan(""), std::nan("")};
  if (projection_) return projection_->inverse({x_axis_[i], y_axis_[j]});
  return {y_axis_[j], std::remainder(x_axis_[i], 360.0)};
}

Grid::Bounds Grid::bounds() const {
  if (nx_ == 0) return {std::nan(""), std::nan(""), std::nan(""), std::nan("")};
  if (latitude_.empty() && !projection_) return {y_axis_.lowest(), y_axis_.highest(), x_axis_.lowest(), x_axis_.highest()};
  Bounds b{90, -90, 1e9, -1e9};
  const GeoPosition middle = position(static_cast<std::int32_t>(ny_ / 2), static_cast<std::int32_t>(nx_ / 2));
  const auto take = [&](std::size_t y, std::size_t x) {
    const GeoPosition g = position(static_cast<std::int32_t>(y), static_cast<std::int32_t>(x));
    if (!std::isfinite(g.latitude_deg)) return;
    const double longitude = std::isfinite(middle.longitude_deg)
                                 ? middle.longitude_deg + std::remainder(g.longitude_deg - middle.longitude_deg, 360.0)
                                 : g.longitude_deg;
    b = {std::min(b.south, g.latitude_deg), std::max(b.north, g.latitude_deg), std::min(b.west, longitude),
         std::max(b.east, longitude)};
  };
  for (std::size_t y = 0; y < ny_; ++y) take(y, 0), take(y, nx_ - 1);
  for (std::size_t x = 0; x < nx_; ++x) take(0, x), take(ny_ - 1, x);
  return b;
}

bool Grid::has_cells_of(const Grid& other) const {
  if (nx_ != other.nx_ || ny_ != other.ny_ || nx_ == 0 || ny_ == 0) return false;
  const auto last_y = static_cast<std::int32_t>(ny_) - 1, last_x = static_cast<std::int32_t>(nx_) - 1;
  for (const auto& [y, x] : {std::pair(0, 0), std::pair(last_y, 0), std::pair(0, last_x), std::pair(last_y, last_x)}) {
    const GeoPosition a = position(y, x), b = other.position(y, x);
    constexpr double kDigits = 0.002;  // degrees
    if (!(std::abs(a.latitude_deg - b.latitude_deg) < kDigits &&
          std::abs(std::remainder(a.longitude_deg - b.longitude_deg, 360.0)) < kDigits))
      return false;
  }
  return true;
}

double mean_of(const Stencil& s, const std::vector<double>& values, std::size_t nx) {
  double mean = s.cells > 0 ? 0 : std::nan("");
  for (std::size_t k = 0; k < static_cast<std::size_t>(s.cells); ++k)
    mean += static_cast<double>(s.weight[k]) * values[static_cast<std::size_t>(s.y[k]) * nx + static_cast<std::size_t>(s.x[k])];
  return mean;
}

namespace {

constexpr std::int32_t kFurthest = 2;  // cells from the heaviest one in which land and sea are looked for

// The share of land in a cell; NaN outside the grid, and where the mask has none.
double land_share(const std::vector<double>& mask, std::size_t nx, std::int32_t y, std::int32_t x) {
  const auto width = static_cast<std::int32_t>(nx), height = static_cast<std::int32_t>(mask.size() / nx);
  if (y < 0 || x < 0 || y >= height || x >= width) return std::nan("");
  return mask[static_cast<std::size_t>(y) * nx + static_cast<std::size_t>(x)];
}

}  // namespace

bool has_sea_near(const Stencil& s, const std::vector<double>& mask, std::size_t nx) {
  const int heavy = heaviest(s);
  if (heavy < 0) return false;
  for (std::int32_t j = -kFurthest; j <= kFurthest; ++j)
    for (std::int32_t i = -kFurthest; i <= kFurthest; ++i)
      if (land_share(mask, nx, s.y[static_cast<std::size_t>(heavy)] + j, s.x[static_cast<std::size_t>(heavy)] + i) < 0.5)
        return true;
  return false;
}

void keep_land(Stencil& s, const std::vector<double>& mask, std::size_t nx) {
  const auto is_land = [&](std::int32_t y, std::int32_t x) { return land_share(mask, nx, y, x) >= 0.5; };
  double land = 0;
  for (std::size_t k = 0; k < static_cast<std::size_t>(s.cells); ++k)
    if (is_land(s.y[k], s.x[k])) land += static_cast<double>(s.weight[k]);
  Stencil kept;
  const auto keep = [&](std::int32_t y, std::int32_t x, double weight) {
    const auto n = static_cast<std::size_t>(kept.cells++);
    kept.y[n] = y;
    kept.x[n] = x;
    kept.weight[n] = static_cast<float>(weight);
  };
  if (land > 0) {
    for (std::size_t k = 0; k < static_cast<std::size_t>(s.cells); ++k)
      if (is_land(s.y[k], s.x[k])) keep(s.y[k], s.x[k], static_cast<double>(s.weight[k]) / land);
  } else if (const int heavy = heaviest(s); heavy >= 0) {
    const std::int32_t y = s.y[static_cast<std::size_t>(heavy)], x = s.x[static_cast<std::size_t>(heavy)];
    std::int32_t nearest = 2 * kFurthest * kFurthest + 1, dy = 0, dx = 0;
    for (std::int32_t j = -kFurthest; j <= kFurthest; ++j)
      for (std::int32_t i = -kFurthest; i <= kFurthest; ++i)
        if (j * j + i * i < nearest && is_land(y + j, x + i)) nearest = j * j + i * i, dy = j, dx = i;
    if (nearest <= 2 * kFurthest * kFurthest) keep(y + dy, x + dx, 1);
  }
  s = kept;
}

}  // namespace hakea::ingest
