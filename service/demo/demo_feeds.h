// The demo's feeds: what a fine and a coarse weather model would have said of the demo's story, as CF NetCDF, a file a run.
//
//   fine    0.05 degrees, hourly to 90 h, every six hours, at hand one hour after its reference time
//   coarse  0.125 degrees, three-hourly to 240 h, every twelve hours, at hand after six hours; its hills are smoothed
//
// The same run has the same bytes whenever it is written. The first runs are those of 29 March 12 UTC; the fine run of
// 18 UTC lacks the hours 31 to 34. Errors of a forecast grow with its lead and differ from run to run, too little to change
// the story.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "ingest/feed.h"

namespace hakea::service {

// The moment at which the demo begins: 2027-03-30T06:30:00+11:00.
inline constexpr UtcTime kDemoStart =
    std::chrono::sys_days(std::chrono::year(2027) / 3 / 29) + std::chrono::minutes(19 * 60 + 30);

struct DemoRun {
  std::string feed;  // "fine" or "coarse"
  UtcTime reference_time;
  UtcTime due;  // when it is at hand
};

// Runs with after < due <= up_to, in order of due; of several at once the coarse one first.
std::vector<DemoRun> demo_runs_due(UtcTime after, UtcTime up_to);

// feed_folder/fine/2027-03-29T12Z.nc and the like; the folders are made. A file that is there already is left alone.
// Errors: `unwritable`.
Result<std::filesystem::path> write_demo_run(const std::filesystem::path& feed_folder, const DemoRun& run);
// The files of all of demo_runs_due(), in that order, also of those that were there already; ends at the first error.
Result<std::vector<std::filesystem::path>> write_demo_runs_due(const std::filesystem::path& feed_folder, UtcTime after,
                                                               UtcTime up_to);

// How the service reads them ([feeds.fine], [feeds.coarse]), in order of preference.
std::vector<ingest::Feed> demo_feed_configs(const std::filesystem::path& feed_folder);

}  // namespace hakea::service
