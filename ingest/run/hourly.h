// From the native steps of a run at one point to the hours of INTERFACE §1, by the rule of each kind (atmosphere.md §7.2).
//
// Instants of temperature and dew point are interpolated across steps of at most 6 h (linear in time) and marked; relative
// humidity never directly, but as dew point; wind speed linearly, direction by components; amounts are spread evenly over
// their interval keeping the sum; means of radiation follow the clear-sky shape; extremes are held over their interval.
// Longer gaps are unknown. Winds come out earth-relative, speed and direction from.
#pragma once

#include <memory>
#include <vector>

#include "core/base/time.h"
#include "core/weather/column.h"
#include "ingest/run/forecast_run.h"

namespace hakea::ingest {

// The fed quantities of one point and member as hourly columns; a column is empty when the run does not have it.
struct PointHours {
  core::Column air_temperature, dew_point_temperature, wind_speed, wind_from_direction, wind_gust, precipitation_amount,
      shortwave_radiation, cloud_area_fraction, surface_pressure, mixing_height;
};

struct RunHours {
  UtcHour first;
  std::size_t hours = 0;
};
RunHours hours_of(const RunPlan& run);

// Turns one point and member after the other; the sun of a point is kept for its next member. Of one thread.
class HourTurner {
 public:
  explicit HourTurner(const RunPlan& run, const LeftOut& left_out = {});  // which must outlive it
  ~HourTurner();
  HourTurner(const HourTurner&) = delete;
  HourTurner& operator=(const HourTurner&) = delete;

  // `values[field]` holds the native steps of the point and member (run.steps.size() values, NaN where missing), empty for
  // fields on levels.
  PointHours at_point(std::size_t point, const std::vector<std::vector<float>>& values);

 private:
  class Sky;
  struct Steps;
  const RunPlan& run_;
  const bool has_direction_;
  RunHours hours_;
  std::unique_ptr<Steps> steps_;  // of each fed quantity
  std::size_t point_ = 0;
  std::unique_ptr<Sky> sky_;  // of that point
};

}  // namespace hakea::ingest
