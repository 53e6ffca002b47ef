// Which variables of a file are coordinates, and which of them belong to a given variable: times, levels, members, and the
// horizontal position. Found by standard_name, units, axis and the `coordinates` attribute, never by position (CF ch. 4, 5).
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "ingest/cf/time_axis.h"
#include "ingest/format/netcdf_file.h"

namespace hakea::ingest {

// A time-like variable: valid times or reference times, decoded.
struct TimeCoordinate {
  std::size_t variable = 0;
  std::vector<std::size_t> dimensions;     // of the file, none when scalar
  std::vector<std::optional<UtcTime>> at;  // row-major
  std::vector<UtcTime> begin, end;         // bounds, by index; empty when the file gives none that can be used
};

struct VerticalCoordinate {
  enum class Kind { none, pressure, height, other } kind = Kind::none;
  std::optional<std::size_t> dimension;  // of the file; none when scalar
  std::vector<double> values;            // hPa or m above ground
  std::string name;                      // for messages
};

struct MemberCoordinate {
  std::optional<std::size_t> dimension;  // of the file; none when scalar
  std::vector<double> numbers;           // empty where the file does not number its members, or has none
};

struct HorizontalCoordinates {
  std::optional<std::size_t> y, x;                      // variables of the projected or rotated axes
  std::optional<std::size_t> latitude, longitude;       // variables
  std::optional<std::size_t> mapping;                   // the grid mapping variable
  std::optional<std::size_t> y_dimension, x_dimension;  // of the file
  bool curvilinear = false;                             // latitude and longitude have two dimensions
  bool stations = false;                                // both lie along one dimension
  bool sounding = false;    // both are stated for each level of one ascent, or for each time: the place is the first
  bool stated = false;      // by the feed, since the file says nothing (Grids::lay)
  bool transposed = false;  // two-dimensional latitude is stored (x, y)
  friend auto operator<=>(const HorizontalCoordinates&, const HorizontalCoordinates&) = default;
};

class FileCoordinates {
 public:
  // `time_unit` is what a feed says of times whose own unit is absent or none.
  explicit FileCoordinates(const NetcdfFile& file, std::string time_unit = {});

  bool is_coordinate(std::size_t variable) const { return coordinates_.contains(variable); }

  // Valid times of a variable. Errors: no_time, several_runs, and what is wrong with a time variable that would have been it.
  Result<TimeCoordinate> valid_time(std::size_t variable) const;
  // The one reference time the file states, from a coordinate or its global attributes; nullopt where it states none.
  // Errors: several_runs.
  Result<std::optional<UtcTime>> reference_time() const;
  VerticalCoordinate vertical(std::size_t variable) const;
  MemberCoordinate members(std::size_t variable) const;
  HorizontalCoordinates horizontal(std::size_t variable) const;
  // Of places stated anew for each time: makes them one place, and says whether they are.
  bool settle(HorizontalCoordinates& stations) const;

  const std::vector<std::string>& notes() const { return notes_; }

  // The numbers of a coordinate variable: unpacked, missing as NaN, valid_min and valid_max left aside (they mask poles).
  std::vector<double> numbers(std::size_t variable) const;

 private:
  enum class TimeRole { valid, reference, lead };
  struct TimeLike {
    std::size_t variable;
    TimeRole role;
    bool by_standard_name;
    bool is_text = false;
  };

  void find_times();
  Result<TimeUnit> unit_of(const Variable& time) const;
  std::vector<std::size_t> associated(std::size_t variable) const;
  bool dimensions_within(std::size_t coordinate, std::size_t variable) const;
  Result<TimeCoordinate> decode(const TimeLike& time) const;
  VerticalCoordinate levels_of_ascent(std::size_t variable) const;
  bool is_level_of_others(std::size_t coordinate, std::size_t variable) const;
  std::optional<std::size_t> station_dimension(std::size_t variable) const;
  void attach_bounds(TimeCoordinate& time) const;

  const NetcdfFile& file_;
  std::string time_unit_;
  std::set<std::size_t> coordinates_;
  std::vector<TimeLike> times_;
  std::map<std::size_t, Error> faulty_times_;  // variables that look like times and cannot be read
  mutable std::vector<std::string> notes_;
};

// Parts of names after the last group.
std::string base_name(std::string_view name);

// The attribute "units", or "unit" as some writers have it.
std::string unit_text(const Variable& variable);

}  // namespace hakea::ingest
