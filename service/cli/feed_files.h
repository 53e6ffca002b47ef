// Which files a call means, and which of them make up a run.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "ingest/feed.h"

namespace hakea::service {

// The feeds of a configuration: one that the file describes, or the tables [feeds.NAME] of it, as the service has them, in
// order of preference. Without a file one that takes everything by its role.
Result<std::vector<ingest::Feed>> feeds_of_call(const std::string& config_path);

// The feed a file belongs to: the first whose folder it lies in, if it names one, and whose pattern it fits, if it has one.
const ingest::Feed* feed_of(const std::string& file, const std::vector<ingest::Feed>& feeds);

struct FeedRuns {
  std::vector<std::vector<std::string>> files;  // by run, oldest first
  std::vector<UtcTime> reference_times;
  Errors left_out;  // files that belong to no run, or to one that is more than an hour ahead of `now`
};
// By feed, the runs that its files make up: those among the files named and in the folders named, but for what is still being
// written there; without a name those of the feeds' own folders. Errors: a file that is named and belongs to no feed, which one
// of a folder may, and paths with nothing to read.
Result<std::vector<FeedRuns>> runs_of_call(const std::vector<ingest::Feed>& feeds, const std::vector<std::string>& paths,
                                           std::optional<UtcTime> now);

}  // namespace hakea::service
