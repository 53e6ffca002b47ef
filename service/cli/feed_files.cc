#include "service/cli/feed_files.h"

#include <fmt/format.h>
#include <fnmatch.h>

#include <algorithm>
#include <filesystem>
#include <map>

#include "ingest/arrival/reader_process.h"
#include "service/engine/arrivals.h"
#include "service/input/config.h"
#include "service/input/json.h"
#include "service/input/toml_table.h"
#include "service/output/time_text.h"

namespace hakea::service {

namespace fs = std::filesystem;

Result<std::vector<ingest::Feed>> feeds_of_call(const std::string& config_path) {
  if (config_path.empty()) return std::vector{ingest::Feed{}};
  const auto text = read_text_file(config_path);
  if (!text) return text.errors();
  const auto document = parse_toml(*text, config_path);
  if (!document) return document.errors();
  if (document->contains("feeds")) {
    auto config = read_config(config_path);
    if (!config) return config.errors();
    return std::move(config->feeds);
  }
  auto feed = ingest::parse_feed(*text, config_path);
  if (!feed) return feed.errors();
  // What one feed calls its folder is for the service; here the files are named.
  feed->path.clear();
  return std::vector{*std::move(feed)};
}

const ingest::Feed* feed_of(const std::string& file, const std::vector<ingest::Feed>& feeds) {
  const fs::path path(file);
  for (const ingest::Feed& feed : feeds) {
    std::error_code failed;
    if (!feed.path.empty() && !fs::equivalent(path.has_parent_path() ? path.parent_path() : ".", feed.path, failed)) continue;
    if (feed.pattern.empty() || fnmatch(feed.pattern.c_str(), path.filename().c_str(), 0) == 0) return &feed;
  }
  return nullptr;
}

namespace {

// By feed, in order of name.
Result<std::vector<std::vector<std::string>>> files_of(std::vector<std::string> paths, const std::vector<ingest::Feed>& feeds) {
  std::vector<std::vector<std::string>> files(feeds.size());
  Errors mistakes;
  if (paths.empty())
    for (const ingest::Feed& feed : feeds) paths.push_back(feed.path);
  const auto take = [&](const std::string& path, std::vector<std::vector<std::string>>& into) {
    const ingest::Feed* feed = feed_of(path, feeds);
    if (feed) into[static_cast<std::size_t>(feed - feeds.data())].push_back(path);
    return feed != nullptr;
  };
  for (const std::string& path : paths) {
    std::error_code failed;
    if (!fs::is_directory(path, failed)) {
      if (!fs::exists(path, failed))
        mistakes.push_back({ErrorKind::unreadable, "unreadable", path, "there is no such file or folder",
                            "give the path of a forecast file or a folder of them"});
      else if (feeds.size() == 1)
        files.front().push_back(path);  // a file that is named is meant, whatever it is called
      else if (!take(path, files))
        mistakes.push_back({ErrorKind::not_found, "no_feed", path, "the file belongs to none of the feeds",
                            "correct the path or the pattern of its feed"});
      continue;
    }
    std::vector<std::vector<std::string>> found(feeds.size());
    bool has_any = false;
    for (fs::directory_iterator entry(path, failed), none; !failed && entry != none; entry.increment(failed)) {
      std::error_code unknown;
      if (!is_being_written(entry->path().filename().string()) && entry->is_regular_file(unknown))
        has_any = take(entry->path().string(), found) || has_any;
    }
    if (failed)
      mistakes.push_back({ErrorKind::unreadable, "unreadable", path,
                          fmt::format("the folder cannot be read: {}", failed.message()), "give a folder that may be read"});
    else if (!has_any)
      mistakes.push_back({ErrorKind::not_found, "empty_folder", path, "the folder holds no file of the feed",
                          "give a folder with forecast files, or correct the feed's pattern"});
    for (std::size_t f = 0; f < feeds.size(); ++f) {
      std::sort(found[f].begin(), found[f].end());
      files[f].insert(files[f].end(), found[f].begin(), found[f].end());
    }
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
    std::vector<std::vector<std::string>> apart;  // every file of stations is read by itself
    for (std::string& file : feed.observed ? run : std::vector<std::string>()) apart.push_back({std::move(file)});
    if (!feed.observed) apart.push_back(std::move(run));
    for (auto& one_run : apart) {
      runs.reference_times.push_back(time);
      runs.files.push_back(std::move(one_run));
    }
  }
  return runs;
}

}  // namespace

Result<std::vector<FeedRuns>> runs_of_call(const std::vector<ingest::Feed>& feeds, const std::vector<std::string>& paths,
                                           std::optional<UtcTime> now) {
  const auto files = files_of(paths, feeds);
  if (!files) return files.errors();
  std::vector<FeedRuns> runs;
  for (std::size_t order = 0; order < feeds.size(); ++order) runs.push_back(runs_of(feeds[order], (*files)[order], now));
  return runs;
}

}  // namespace hakea::service
