// One run at the points of one unit: what a model foretold, or what stations saw.
//
// Of an ensemble too large to be held all members but the first are put aside (series_shelf.h): what is asked of a run is
// answered by the first, or by whole(), which takes the others up again.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "ingest/station/nearest.h"
#include "service/engine/series_shelf.h"
#include "service/engine/unit_series.h"
#include "service/input/unit_json.h"
#include "service/store/store.h"

namespace hakea::service {

struct UnitRun {
  std::string id, feed;
  std::size_t order = 0;  // of the feed in the configuration
  UtcTime reference_time{};
  int lagged_runs = 1;       // of the feed: so many of its newest runs are members of one ensemble
  int first_lead = 0;        // of the feed, hours: what is before it is another's to say
  bool is_observed = false;  // what stations saw
  int revision = 1;
  // [point][member], each at least one; of what was observed [point][station], the nearest first, where the others hold
  // only what those before them lack.
  std::vector<std::vector<UnitSeries>> points;
  // Where the members of all points are, if only the first ones are above.
  struct Aside {
    SeriesShelf::PiecePtr series;
    std::size_t members = 0;
    bool is_at_hand = false;
  };
  std::shared_ptr<const Aside> aside;

  UtcHour first() const;
  UtcHour end() const;
  // Where its forecast begins, though its feed may speak of later hours only.
  UtcHour begins() const;
  bool is_whole() const { return !aside; }
  std::size_t members() const { return aside ? aside->members : points.front().size(); }
  // A run of fewer members repeats them. One that is not whole has the first one only.
  const UnitSeries& at(std::size_t point, std::size_t member) const {
    HAKEA_EXPECT(is_whole() || member % members() == 0);
    return points[point][member % points[point].size()];
  }
  // Whether any value was found at the unit: none outside the feed's grid.
  bool is_at_hand() const;
};
using UnitRunPtr = std::shared_ptr<const UnitRun>;

ingest::StationSite site_of(const core::Site& place);

// A run of a feed without points yet.
UnitRun run_of_feed(const ingest::Feed& feed, std::size_t order, UtcTime reference_time);
// Of a run that was read for many points: what it says at those of a unit, which begin with `first_point`.
UnitRun unit_run(const ingest::Feed& feed, std::size_t order, const RunColumns& columns, const Unit& unit,
                 std::size_t first_point);
// Of what stations saw: the plan says for each point of the unit which of them speak for it, the nearest first.
UnitRun observed_run(const ingest::Feed& feed, std::size_t order, const ingest::RunPlan& plan,
                     const std::vector<UnitSeries>& stations, const Unit& unit, std::size_t first_point);
// The same run from several files of stations.
UnitRun joined(const std::vector<UnitRunPtr>& of_files, const Unit& unit);

// Runs of so many series, those of all units together, are put aside [our own default]: some 60 MB of ten days.
inline constexpr std::size_t kSeriesHeld = 8192;
// The run with all members but the first put aside. Error of both: those of the shelf; of whole() also `damaged_series`.
Result<UnitRun> put_aside(const UnitRun& run, SeriesShelf& shelf);
Result<UnitRunPtr> whole(const UnitRunPtr& run);
// Only the hours before `end`, of all members; those of a run that is not whole stay aside.
Result<UnitRun> before(const UnitRun& run, UtcHour end, SeriesShelf& shelf);
// As the store keeps them.
Result<std::vector<SeriesBlob>> blobs_of(const std::string& unit, const UnitRun& run);

// Whether the run was read for the points the unit has now.
bool is_for(const UnitRun& run, const Unit& unit);

}  // namespace hakea::service
