// The weather of a call that names forecast files: the runs of its feeds, read for its units batch by batch.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "service/cli/feed_files.h"
#include "service/cli/progress.h"
#include "service/engine/assessment.h"
#include "service/engine/run_weather.h"
#include "service/output/day_json.h"

namespace hakea::service {

class FeedWeather {
 public:
  // So many units are worked on at a time.
  static constexpr std::size_t kBatch = 64;

  // Of a run whose hours are not to be shown only what the days of the units need is read. How far it is is shown on the line.
  // What is wrong with single files or feeds is said on standard error. Errors: that no feed has a run.
  static Result<FeedWeather> read(const std::vector<ingest::Feed>& feeds, std::vector<FeedRuns> found,
                                  const std::vector<Unit>& units, bool with_hours, TerminalLine& line);

  UtcTime newest() const;             // reference time
  std::vector<RunNote> runs() const;  // newest first
  std::string source() const;         // for people: the files of the newest runs
  std::vector<SamplingNote> sampling(const Unit& unit) const;
  // Of the batch that begins with a unit. Errors: a run that was put aside cannot be read again.
  Result<UnitWeather> weather_of_batch(std::size_t first_unit) const;

 private:
  struct OfFeed {
    RunWeather weather;
    std::vector<UtcTime> reference_times;  // oldest first
    std::vector<std::string> newest_files;
  };
  void tell_of(const OfFeed& feed) const;
  void tell_of_units_outside() const;
  std::size_t first_point(const Unit& unit) const { return first_point_[static_cast<std::size_t>(&unit - units_.data())]; }

  std::span<const Unit> units_;
  std::vector<std::size_t> first_point_;
  std::vector<OfFeed> feeds_;  // in order of preference
};

}  // namespace hakea::service
