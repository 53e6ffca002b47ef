// Which files a call means, and which of them make up a run.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "ingest/feed.h"

namespace hakea::service {

// The feed of a configuration file; without one, a feed that takes everything by its role.
Result<ingest::Feed> feed_of_call(const std::string& config_path);

// Files and the files of folders, in order of name; of a folder only those that fit the feed's pattern, if it has one.
Result<std::vector<std::string>> files_of(const std::vector<std::string>& paths, const ingest::Feed& feed);

struct FeedRuns {
  std::vector<std::vector<std::string>> files;  // by run, oldest first
  std::vector<UtcTime> reference_times;
  Errors left_out;  // files that belong to no run, or to one that is more than an hour ahead of `now`
};
FeedRuns runs_of(const ingest::Feed& feed, const std::vector<std::string>& files, std::optional<UtcTime> now);

}  // namespace hakea::service
