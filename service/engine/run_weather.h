// What the runs of one feed say about every unit's hours: the newest run, and before it what older runs knew.
//
// A few hundred bytes an hour-of-a-unit would be gigabytes, so runs are kept as floats (run_columns.h) and the columns of
// a unit are built on demand. Reading is single-threaded and deterministic; unit_hours() is const and may be called from
// several threads.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "ingest/arrival/reader_process.h"
#include "service/engine/run_columns.h"

namespace hakea::service {

struct RunReading {
  bool all_members = false;  // else the first member only
  ingest::ReadLimits limits;
  // Told which run is read, of how many, and how much of it has come.
  std::function<void(std::size_t run, std::size_t of, double share)> tell{};
};

class RunWeather {
 public:
  // `runs` holds the files of each run, oldest first, at least one. The newest must be readable; an older one that is not
  // is left out and named in left_out().
  static Result<RunWeather> read(const ingest::Feed& feed, const std::vector<std::vector<std::string>>& runs,
                                 const std::vector<core::Site>& points, const RunReading& how);
  // From runs already read, oldest first; the last is the newest.
  explicit RunWeather(std::vector<RunColumns> runs);

  const ingest::RunPlan& newest() const { return runs_.back().plan(); }
  const std::vector<ingest::FieldQuality>& quality() const { return quality_; }
  const Errors& left_out() const { return left_out_; }
  std::size_t members() const { return runs_.back().members(); }
  UtcHour first() const { return first_; }
  std::size_t hours() const { return hours_; }

  // The fed columns of a point, corrected to the unit's elevation; ready for core::compute_all. `unit` must outlive them.
  // Hours before the newest run come from older ones, the shortest lead that has a value first.
  core::UnitHours unit_hours(std::size_t point, std::size_t member, const core::UnitTraits& unit) const;

 private:
  struct Source {
    const RunColumns* run;
    std::size_t hour, member;
  };
  // The runs that cover an hour, best first.
  template <class Visit>
  void sources(UtcHour hour, std::size_t member, Visit&& visit) const;

  std::vector<RunColumns> runs_;
  std::vector<ingest::FieldQuality> quality_;
  Errors left_out_;
  UtcHour first_;
  std::size_t hours_ = 0;
};

}  // namespace hakea::service
