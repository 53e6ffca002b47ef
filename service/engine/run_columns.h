// One run as hourly columns at every point, built while the run is being read.
//
// Surface fields are kept as native steps until the first profile comes, then turned hourly point by point and the steps
// forgotten: the reader sends the surface first. A profile is reduced to the hour's air as soon as its group of slabs has
// passed; only a point's last profile is kept, for the hours in between. For each point the steps must ascend. Both are done
// on all processors, each with points of its own, so the numbers do not depend on how many there are.
//
// What stays is float32, 4 bytes a value; flags and reasons are the same at most points and are kept once.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "core/air/air_hour.h"
#include "core/weather/site.h"
#include "core/weather/sun.h"
#include "ingest/run/hourly.h"
#include "service/engine/asked_of_run.h"

namespace hakea::service {

// The fed quantities of a point, in the order of ingest::PointHours.
inline constexpr std::size_t kSurfaceQuantities = 10;
extern const std::array<std::string_view, kSurfaceQuantities> kSurfaceKeys;
// Where a quantity stands among them; kSurfaceQuantities for any other.
std::size_t surface_place(std::string_view key);

// What is made of the levels of an hour, apart from its mixing height and transport wind.
enum LevelQuantity : std::size_t {
  kInversionStrength,
  kInversionTop,
  kBreakTemperature,
  kNearGroundGradient,
  kHainesIndex,
  kCHaines,
  kHotDryWindy,
  kLevelQuantities
};
extern const std::array<std::string_view, kLevelQuantities> kLevelKeys;

class RunColumns {
 public:
  // `points` are the places in the order the reader was given; without `all_members` only the first member is kept.
  // Hours from `keep_before` on are not kept.
  RunColumns(std::vector<core::Site> points, bool all_members, UtcHour keep_before, AskedOfRun asked = {});

  // About how much memory a run takes while it is read for so many points.
  static double bytes_of(const ingest::RunPlan& plan, std::size_t points, bool all_members);

  // What the reader calls. A new plan starts afresh.
  void on_plan(const ingest::RunPlan& plan);
  void on_slab(ingest::Slab&& slab);
  // After the last slab. Errors: slabs that do not fit the plan, or came too late.
  Result<bool> finish();

  const ingest::RunPlan& plan() const { return plan_; }
  UtcHour first() const { return first_; }
  std::size_t hours() const { return hours_; }
  std::size_t members() const { return members_; }
  Metres model_elevation(std::size_t point) const;

  struct Value {
    float value;
    std::uint8_t flags;
    core::Reason why;
  };
  // As sampled, at the model's elevation. `quantity` indexes kSurfaceKeys.
  struct Marks {
    std::vector<std::uint8_t> flags;
    std::vector<core::Reason> why;
    bool operator==(const Marks&) const = default;
  };
  struct Surface {
    std::span<const float> values;  // by hour; none where the run does not have the quantity
    const Marks* marks;
  };
  Surface surface(std::size_t point, std::size_t member, std::size_t quantity) const;
  Value surface(std::size_t point, std::size_t member, std::size_t quantity, std::size_t hour) const;

  struct Air {
    Value mixing_height;                                        // above the model's ground
    Value transport_wind_speed, transport_wind_from_direction;  // missing where the 10 m wind stands in
    std::array<Value, kLevelQuantities> of_levels;
    core::MixingMethod method;
    bool methods_disagree;
  };
  Air air(std::size_t point, std::size_t member, std::size_t hour) const;

 private:
  // The slabs of one step for the same points: [kind][(member * levels + level) * points + p], a kind that did not come empty.
  struct Group {
    std::size_t step = 0;
    std::shared_ptr<const ingest::PointList> points;
    std::array<std::vector<float>, 5> values;
    std::vector<std::int32_t> before;  // the step of the profile before, by point of the group; -1 = none
  };
  // What air() needs, 41 bytes an hour.
  struct PackedAir {
    std::vector<float> mixing_height, speed, direction;
    std::array<std::vector<float>, kLevelQuantities> of_levels;
    std::vector<std::uint8_t> status;
  };

  std::size_t series_count() const { return points_.size() * members_; }
  // The members of a point follow each other: what depends on the point alone is at hand for all of them.
  std::size_t series(std::size_t point, std::size_t member) const { return point * members_ + member; }
  bool keeps(UtcHour hour) const { return hour >= first_ && hour - first_ < static_cast<int>(hours_); }
  void fail(std::string what);
  void take_surface(const ingest::Slab& slab);
  void take_levels(ingest::Slab&& slab);
  void turn_hourly();
  bool has_marks(const core::Column& column, const Marks& marks) const;
  Marks marks_of(const core::Column& column) const;
  std::uint32_t place_of(Marks&& marks);
  // Working memory of a thread that reduces profiles.
  struct Bench {
    core::AirColumn column;
    std::vector<core::Level> levels, between;
  };
  void end_group();
  void reduce_groups();
  void reduce_profile(const Group& group, std::size_t p, std::size_t member, Bench& bench);
  void reduce_hour(std::size_t point, std::size_t member, UtcHour at_hour, std::span<const core::Level> levels,
                   core::AirColumn& column);
  void levels_of_group(const Group& group, std::size_t p, std::size_t member, std::vector<core::Level>& levels) const;
  core::SurfaceAir surface_air(std::size_t point, std::size_t member, std::size_t hour) const;

  std::vector<core::Site> points_;
  bool all_members_;
  UtcHour keep_before_;
  AskedOfRun asked_;
  ingest::RunPlan plan_;
  UtcHour first_;
  std::size_t hours_ = 0, members_ = 1;
  Errors errors_;

  // While reading. Native steps in one slot for each fed quantity, however many fields bring it. A step comes for all points
  // at once and is later taken point by point: sixteen series share a block, [(slot * steps + step) * 16 + series % 16], so
  // that one line of the cache holds a step of all of them.
  static constexpr std::size_t kBlock = 16;
  std::size_t native_at(std::size_t series, std::size_t slot, std::size_t step) const {
    return (slot * plan_.steps.size() + step) * kBlock + series % kBlock;
  }
  struct Place {
    std::size_t field, step, slot;
  };
  std::vector<int> slot_of_field_;
  std::vector<Place> places_;  // every step that a surface field has
  std::size_t slots_ = 0;
  std::vector<std::vector<float>> native_;
  bool is_hourly_ = false;
  core::Fed level_humidity_{};
  bool level_wind_along_grid_ = false, has_levels_ = false;
  Group group_;                                  // being filled
  std::vector<Group> groups_;                    // full ones that wait for enough work to spread over the processors
  std::size_t waiting_ = 0;                      // their profiles
  std::vector<core::Level> last_levels_;         // by series: [series * levels + level]
  std::vector<std::int32_t> last_step_;          // by point, -1 = none yet
  std::vector<core::SunTrack> sun_;              // by point
  std::vector<core::SunTrack::Moment> moments_;  // by hour

  // What stays.
  std::vector<std::vector<float>> values_;  // by series: [quantity * hours + hour], only quantities the run has
  std::vector<std::uint32_t> marks_index_;  // [series * quantities + quantity]
  std::vector<Marks> marks_;
  std::array<int, kSurfaceQuantities> row_of_{};  // place of a quantity in values_, -1 = the run does not have it
  PackedAir air_;
  std::vector<std::uint8_t> hour_is_interpolated_;  // no profile at the start of the hour
};

}  // namespace hakea::service
