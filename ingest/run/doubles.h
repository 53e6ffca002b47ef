// What several files give for the same quantity, time, level and member. Of the same said twice one is read; what is said
// differently is given by none of them, whatever the order of the files. Beside numbered members a file that numbers none
// is the one in doubt.
#pragma once

#include <map>
#include <set>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "ingest/cf/coordinates.h"
#include "ingest/format/netcdf_file.h"
#include "ingest/run/forecast_run.h"

namespace hakea::ingest {

class Doubles {
 public:
  explicit Doubles(RunPlan& plan) : plan_(plan) {}

  // The plan's last field against those before it. `time_of_step` says where along its time it has which step; file and
  // time outlive this.
  void settle(const NetcdfFile& file, const TimeCoordinate& time, std::map<std::size_t, std::size_t> time_of_step);

 private:
  struct Giver {
    const NetcdfFile* file;
    const TimeCoordinate* time;
    std::map<std::size_t, std::size_t> time_of_step;
  };
  enum class Finding { same, differing, within_file };

  void settle_step(std::size_t field, std::size_t step);
  Finding compare(std::size_t first, std::size_t second, std::size_t step, std::int32_t level, std::int32_t member);
  bool same_values(std::size_t first, std::size_t second, std::size_t step, std::int32_t level, std::int32_t member) const;
  StepTime interval(std::size_t field, std::size_t step) const;
  std::vector<double> values(std::size_t field, std::size_t step, std::int32_t level, std::int32_t member) const;
  void withdraw(std::size_t field, std::size_t step);
  void refuse(std::size_t field, std::size_t other, std::size_t step);
  std::string file_name(std::size_t field) const;

  RunPlan& plan_;
  std::vector<Giver> givers_;  // by field
  std::map<std::tuple<core::Fed, std::size_t, std::int32_t>, std::vector<std::pair<std::int32_t, std::size_t>>>
      given_;                                                       // (quantity, step, level) -> (member or -1, field)
  std::map<std::pair<std::size_t, std::size_t>, bool> same_bytes_;  // by two files
  std::set<std::pair<std::size_t, std::size_t>> refused_;           // (field, file it disagrees with)
};

}  // namespace hakea::ingest
