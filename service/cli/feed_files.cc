#include "service/cli/feed_files.h"

#include <fmt/format.h>
#include <fnmatch.h>

#include <algorithm>
#include <filesystem>
#include <map>

#include "ingest/arrival/reader_process.h"
#include "service/input/json.h"
#include "service/output/time_text.h"

namespace hakea::service {

namespace fs = std::filesystem;

Result<ingest::Feed> feed_of_call(const std::string& config_path) {
  if (config_path.empty()) return ingest::Feed{};
  const auto text = read_text_file(config_path);
  if (!text) return text.errors();
  return ingest::parse_feed(*text, config_path);
}

Result<std::vector<std::string>> files_of(const std::vector<std::string>& paths, const ingest::Feed& feed) {
  std::vector<std::string> files;
  Errors mistakes;
  for (const std::string& path : paths) {
    std::error_code failed;
    if (!fs::is_directory(path, failed)) {
      if (fs::exists(path, failed))
        files.push_back(path);
      else
        mistakes.push_back({ErrorKind::unreadable, "unreadable", path, "there is no such file or folder",
                            "give the path of a forecast file or a folder of them"});
      continue;
    }
    std::vector<std::string> found;
    for (fs::directory_iterator entry(path, failed), none; !failed && entry != none; entry.increment(failed)) {
      const std::string name = entry->path().filename().string();
      const bool is_wanted =
          !name.starts_with('.') && (feed.pattern.empty() || fnmatch(feed.pattern.c_str(), name.c_str(), 0) == 0);
      if (is_wanted && entry->is_regular_file(failed)) found.push_back(entry->path().string());
    }
    if (failed)
      mistakes.push_back({ErrorKind::unreadable, "unreadable", path,
                          fmt::format("the folder cannot be read: {}", failed.message()), "give a folder that may be read"});
    else if (found.empty())
      mistakes.push_back({ErrorKind::not_found, "empty_folder", path, "the folder holds no file of the feed",
                          "give a folder with forecast files, or correct the feed's pattern"});
    std::sort(found.begin(), found.end());
    files.insert(files.end(), found.begin(), found.end());
  }
  if (!mistakes.empty()) return mistakes;
  return files;
}

FeedRuns runs_of(const ingest::Feed& feed, const std::vector<std::string>& files, std::optional<UtcTime> now) {
  constexpr std::chrono::hours kAhead(1);
  FeedRuns runs;
  std::map<UtcTime, std::vector<std::string>> by_time;
  for (const ingest::FileReference& reference : ingest::reference_times(feed, files, {})) {
    if (reference.reference_time && now && *reference.reference_time > *now + kAhead) {
      runs.left_out.push_back({ErrorKind::invalid, "ahead_of_now", reference.file,
                               fmt::format("is of the run of {}, more than an hour ahead of now, {}",
                                           utc_text(*reference.reference_time), utc_text(*now)),
                               "correct --now, or leave it out to assess the newest run"});
    } else if (reference.reference_time) {
      by_time[*reference.reference_time].push_back(reference.file);
    } else {
      for (Error error : reference.reference_time.errors()) {
        if (error.where.empty()) error.where = reference.file;
        runs.left_out.push_back(std::move(error));
      }
    }
  }
  for (auto& [time, run] : by_time) {
    runs.reference_times.push_back(time);
    runs.files.push_back(std::move(run));
  }
  return runs;
}

}  // namespace hakea::service
