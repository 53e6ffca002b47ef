// The fed columns of a unit's point and member in one run: as sampled, at the model's own ground, so that they stay right
// when a unit's elevation is entered anew. What is stored for each run; everything else is computed from it.
#pragma once

#include <bit>
#include <limits>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "service/engine/run_columns.h"

namespace hakea::service {

// One hour of one run at one place.
struct RunHour {
  std::array<RunColumns::Value, kSurfaceQuantities> surface;
  RunColumns::Air air;
};

// Moved from the model's ground to the unit's (core/weather/elevation.h); as it was where either is not known.
RunHour at_unit(RunHour hour, Metres model_elevation, Metres unit_elevation);

class UnitSeries;

// Puts hours of runs into the fed columns of a unit, the best source of each hour first.
class FedColumns {
 public:
  explicit FedColumns(core::UnitHours& hours);
  // Takes what is still missing at hour i; true when nothing is missing any more.
  bool take(std::size_t i, const RunHour& hour);
  // Takes all hours of a series beside which nothing else speaks, as take() would one by one. Columns from which nothing that is
  // wanted is computed are left as they are.
  void take_all(const UnitSeries& series, Metres unit_elevation, const core::Rows& wanted);
  // For hours that no run covers.
  void leave_gap(std::size_t i);

 private:
  std::array<core::Column*, kSurfaceQuantities> surface_{};
  core::UnitHours* hours_;
  core::Column *speed_, *direction_;
  std::array<core::Column*, kLevelQuantities> of_levels_{};
  std::vector<bool> is_covered_;
};

class UnitSeries {
 public:
  UnitSeries() = default;
  // `place` is the point that the run was read for.
  UnitSeries(const RunColumns& run, std::size_t point, std::size_t member, const core::Site& place);
  // No hour at all: what stations say of a place that none is near to. `first` is the hour it begins with.
  UnitSeries(UtcHour first, const core::Site& place);

  // Bytes to keep. Error of unpack(): `damaged_series`, when they are not what pack() made.
  std::string pack() const;
  static Result<UnitSeries> unpack(std::string_view bytes, const std::string& where);

  UtcHour first() const { return first_; }
  std::size_t hours() const { return hours_; }
  UtcHour end() const { return first_ + static_cast<int>(hours_); }
  bool covers(UtcHour hour) const { return hour >= first_ && hour < end(); }
  Metres model_elevation() const { return Metres(static_cast<double>(model_elevation_m_)); }
  // Whether it was read for this place.
  bool is_for(const core::Site& place) const {
    return place.latitude_deg == place_latitude_ && place.longitude_deg == place_longitude_;
  }
  double sampled_latitude() const { return sampled_latitude_; }
  double sampled_longitude() const { return sampled_longitude_; }
  // Whether the feed's grid has sea by the place.
  ingest::Sea sea() const { return sea_; }
  core::Site sampled_site() const;
  RunHour hour(std::size_t i) const;
  core::MixingNote mixing(std::size_t i) const;
  // One column: the surface quantities, the mixing height and its wind, what was made of levels.
  static constexpr std::size_t kColumns = kSurfaceQuantities + 3 + kLevelQuantities;
  struct Given {
    const float* values;  // null where there is none at any hour
    const std::uint8_t *flags, *why;
    RunColumns::Value operator[](std::size_t i) const {
      return {values ? values[i] : std::numeric_limits<float>::quiet_NaN(), flags[i], static_cast<core::Reason>(why[i])};
    }
  };
  Given column(std::size_t column) const;
  // Whether there is a value at all.
  bool is_at_hand() const { return columns_at_hand_ != 0; }
  // Whether the hour has every quantity that the run has at any of its hours.
  bool has_all(std::size_t i) const;
  // The station that saw it; empty for what was foretold.
  const std::string& station() const { return station_; }
  // Only the hours from `begin` to `end`.
  UnitSeries part(UtcHour begin, UtcHour end) const;
  UnitSeries before(UtcHour end) const { return end < this->end() ? part(first_, end) : *this; }
  // The same for another place; what it holds is shared.
  UnitSeries for_place(const core::Site& place) const;
  // Of the surface only what none of the others has: what it adds to them.
  UnitSeries beside(std::span<const UnitSeries> others) const;
  // Takes up the surface values from `begin` to `end`: of the same values the same text.
  void add_to(std::string& text, UtcHour begin, UtcHour end) const;
  // Flags and reasons are mostly those of another member: then they are kept once for both.
  void share_marks_of(const UnitSeries& other);

 private:
  UtcHour first_;
  std::size_t hours_ = 0;
  float model_elevation_m_ = 0;
  double place_latitude_ = 0, place_longitude_ = 0, sampled_latitude_ = 0, sampled_longitude_ = 0;
  ingest::Sea sea_ = ingest::Sea::unknown;
  std::string station_;
  struct Marks {
    std::vector<std::uint8_t> flags, why;  // [column * hours + hour]: the surface quantities, then those of the air
    bool operator==(const Marks&) const = default;
  };
  // Of the columns that have a value at some hour: the place of one among them.
  std::size_t place_of(std::size_t column) const {
    return static_cast<std::size_t>(std::popcount(columns_at_hand_ & ((std::uint32_t{1} << column) - 1)));
  }
  bool has_column(std::size_t column) const { return columns_at_hand_ >> column & 1; }
  std::size_t columns_kept() const { return static_cast<std::size_t>(std::popcount(columns_at_hand_)); }

  float value_of(std::size_t column, std::size_t hour) const {
    return has_column(column) ? (*values_)[place_of(column) * hours_ + hour] : std::numeric_limits<float>::quiet_NaN();
  }
  void keep(const std::vector<float>& all);

  std::uint32_t columns_at_hand_ = 0;                                                                // bit by column
  std::shared_ptr<const std::vector<float>> values_ = std::make_shared<const std::vector<float>>();  // [place * hours + hour]
  std::shared_ptr<const Marks> marks_ = std::make_shared<const Marks>();
  std::vector<std::uint8_t> methods_;  // by hour: mixing method, and whether methods disagree
};

}  // namespace hakea::service
