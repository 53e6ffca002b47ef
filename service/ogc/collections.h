// The EDR collections and their instances: the hours of units, by location, and the grid of each feed, at any position. An
// instance is a run.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "service/engine/grid_points.h"
#include "service/http/box.h"
#include "service/http/call.h"
#include "service/ogc/asked.h"

namespace hakea::service {

inline constexpr std::string_view kUnitHours = "unit-hours";

// The run that something rests on.
struct NamedRun {
  const FeedView* feed;
  const RunRow* row;
};

// A unit with the hours it has in a collection.
struct Located {
  const UnitView* view;
  UtcHour first, end;
};

struct Collection {
  std::string id;
  std::optional<NamedRun> run;  // of an instance, and of a grid: there the newest one
  bool is_instance = false;
  std::string title, description;
  std::vector<std::size_t> quantities;  // by catalogue index
  std::vector<Located> units;           // of the hours of units; those without a run are left out
  std::optional<GridRun> grid;          // of a grid
  Box box;
  UtcHour first, end;  // no hours before the first run

  bool is_grid() const { return grid.has_value(); }
  std::string path() const;  // below /ogc
};

// What the caller may see. A run that is not at hand: nothing.
std::optional<Collection> find_collection(const Call& call, std::string_view id, std::optional<std::string_view> run = {});
std::vector<Collection> all_collections(const Call& call);
// The instances of a collection, the newest run first.
std::vector<Collection> instances_of(const Call& call, const Collection& collection);

// Where a unit's series is taken.
Position place_of(const UnitView& view);
Box bounds_of(const std::vector<const UnitView*>& units);

// "extent": from the first time to the last, open where there is none; `times`: each of them, where they are told.
void write_extent(JsonWriter& out, const Box& box, std::optional<UtcTime> first, std::optional<UtcTime> last,
                  const std::vector<UtcTime>& times = {});
// Its metadata.
void write_collection(JsonWriter& out, const Call& call, const Collection& collection);

}  // namespace hakea::service
