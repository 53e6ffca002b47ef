// Horizontal grids: where the cells lie, and which of them a point needs with which weights.
//
// Four shapes: two axes of latitude and longitude (even or Gaussian, either direction, around the globe or across the date
// line), two axes of a projection or a rotated pole, two-dimensional latitude and longitude, and single places. A point
// outside the outermost cell centres has no cells. Positions are searched in the coordinate arrays in double, never
// computed from a spacing.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "ingest/feed.h"
#include "ingest/grid/projection.h"
#include "ingest/grid/sample.h"

namespace hakea::ingest {

// A monotone axis, ascending or descending; `around` = degrees that close at 360.
class Axis {
 public:
  Axis() = default;
  // Errors: too_short, not_monotone.
  static Result<Axis> of(std::vector<double> values, bool around);

  struct Place {
    std::int32_t below, above;
    double weight_above;
  };  // neighbours and the share of `above`
  std::optional<Place> find(double value) const;
  std::size_t size() const { return values_.size(); }
  double operator[](std::size_t i) const { return values_[i]; }  // unwrapped: monotone across the date line
  double lowest() const { return std::min(values_.front(), values_.back()); }
  double highest() const { return std::max(values_.front(), values_.back()); }
  bool even() const;  // equal spacing within 0.1 %

 private:
  std::vector<double> values_;
  bool around_ = false, closed_ = false;
};

class Grid {
 public:
  static Result<Grid> latitude_longitude(std::vector<double> latitudes, std::vector<double> longitudes);
  static Result<Grid> projected(Projection projection, std::vector<double> y, std::vector<double> x);
  // Row-major [y][x]. Cells with a missing corner cover nothing.
  static Result<Grid> curvilinear(std::vector<double> latitudes, std::vector<double> longitudes, std::size_t ny, std::size_t nx);
  // Single places: a point takes the nearest within kReach.
  static Grid places(std::vector<double> latitudes, std::vector<double> longitudes);
  // One that a feed states: even steps on the plane of its projection, ny rows of nx cells from the first one on.
  // Errors: those of Projection; step, first (no numbers to use).
  static Result<Grid> stated(const StatedGrid& grid, std::size_t ny, std::size_t nx);
  // Data without a position: covers no point.
  static Grid nowhere();

  Stencil stencil(GeoPosition point) const;  // bilinear in the grid's own coordinates
  // Added to the direction of a wind along the grid axes to make it true.
  double rotation_deg(GeoPosition point) const;
  GeoPosition position(std::int32_t y, std::int32_t x) const;

  const std::string& kind() const { return kind_; }
  std::size_t nx() const { return nx_; }
  std::size_t ny() const { return ny_; }
  struct Bounds {
    double south, north, west, east;
  };
  Bounds bounds() const;  // of the cell centres
  // Whether both have the same cells, though the positions of these may be written with other digits.
  bool has_cells_of(const Grid& other) const;

  static constexpr double kReachDeg = 0.1;  // for single places [common practice, no source]

 private:
  std::string kind_;
  std::size_t ny_ = 0, nx_ = 0;
  Axis y_axis_, x_axis_;
  std::optional<Projection> projection_;
  std::vector<double> latitude_, longitude_;  // curvilinear and places
  struct Block {
    std::int32_t y0, y1, x0, x1;
    std::array<double, 3> low, high;
    std::int32_t left = -1, right = -1;
  };
  std::vector<Block> blocks_;
  std::int32_t build(std::int32_t y0, std::int32_t y1, std::int32_t x0, std::int32_t x1);
  struct Quad {
    std::int32_t y, x;
    double s, t;
  };  // corner and shares along x and y
  std::optional<Quad> quad_of(GeoPosition point) const;
};

// The heaviest cell of a stencil; -1 where it has none.
int heaviest(const Stencil& s);
// What a stencil makes of a field on a grid that is nx wide; NaN where it has no cells.
double mean_of(const Stencil& stencil, const std::vector<double>& values, std::size_t nx);

// Near a coast only cells of land count, those with a share of land of half and more; with none among them the nearest land
// within two cells; else none, and the point has no values (atmosphere.md 7.4). `mask` holds the share of each cell of a
// grid that is nx wide.
void keep_land(Stencil& stencil, const std::vector<double>& mask, std::size_t nx);
// Whether a cell within two of a stencil's heaviest one is sea: has less than half of land.
bool has_sea_near(const Stencil& stencil, const std::vector<double>& mask, std::size_t nx);

}  // namespace hakea::ingest
