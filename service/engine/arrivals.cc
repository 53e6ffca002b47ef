#include "service/engine/arrivals.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <fnmatch.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <set>

#include "ingest/format/whole_file.h"
#include "service/base/content_hash.h"
#include "service/input/json.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

namespace fs = std::filesystem;

constexpr std::chrono::hours kLongestUpload{1};  // pauses of a file that is still being written are shorter

// Whether the header's promise is kept.
Result<bool> is_whole(const std::string& path) {
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0)
    return Error{ErrorKind::unreadable, "unreadable", path, "the file cannot be opened", "check its permissions"};
  const auto kind = ingest::check_whole(descriptor, path);
  ::close(descriptor);
  if (!kind) return kind.errors();
  return true;
}

}  // namespace

bool is_being_written(std::string_view name) {
  if (name.starts_with('.') || name.ends_with('~')) return true;
  for (const char* ending : {".tmp", ".part", ".partial", ".filepart", ".crdownload"})
    if (name.ends_with(ending)) return true;
  return false;
}

bool may_pass(const std::string& code) {
  return code == "no_reader" || code == "reader_ended" || code == "unwritable" || code == "unreadable";
}

std::string content_hash_of(const std::set<std::string>& contents) {
  return content_hash(fmt::format("{}", fmt::join(contents, "\n")));
}

std::string run_id(const std::string& feed, UtcTime reference_time) {
  return fmt::format("{}.{}", feed, utc_text(reference_time));
}

std::optional<std::chrono::seconds> span_of(std::string_view text) {
  if (const auto clock = parse_clock(text)) return *clock;
  int number = 0;
  const auto [end, failed] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (failed != std::errc() || number < 0) return std::nullopt;
  const std::string_view unit(end, static_cast<std::size_t>(text.data() + text.size() - end));
  if (unit == "h") return std::chrono::hours(number);
  if (unit == "min" || unit == "m") return std::chrono::minutes(number);
  return std::nullopt;
}

Arrivals::Arrivals(const ingest::Feed& feed, std::size_t order, const std::vector<FileRow>& known) : feed_(&feed), order_(order) {
  const std::string prefix = feed.id + ".";
  for (const FileRow& row : known) {
    File file;
    file.content_hash = row.content_hash;  // size and time are looked up: only the content says that it is the same file
    if (row.state == "taken" && row.run.starts_with(prefix))
      if (const auto time = parse_instant(std::string_view(row.run).substr(prefix.size()))) file.reference_time = *time;
    files_.emplace(row.path, std::move(file));
  }
}

bool Arrivals::is_companion(const std::string& path) const {
  const auto is = [&](const std::string& companion) {
    std::error_code failed;
    return !companion.empty() && (path == companion || fs::equivalent(path, companion, failed));
  };
  return is(feed_->orography) || is(feed_->land_mask);
}

std::vector<std::string> Arrivals::list() {
  std::vector<std::string> paths;
  std::error_code failed;
  trouble_.clear();
  for (fs::directory_iterator entry(feed_->path, failed), end; !failed && entry != end; entry.increment(failed)) {
    const std::string name = entry->path().filename().string();
    std::error_code unknown;
    if (is_being_written(name) || !entry->is_regular_file(unknown)) continue;
    if (!feed_->pattern.empty() && ::fnmatch(feed_->pattern.c_str(), name.c_str(), 0) != 0) continue;
    if (!is_companion(entry->path().string())) paths.push_back(entry->path().string());
  }
  if (failed) trouble_ = fmt::format("the folder {} cannot be read: {}", feed_->path, failed.message());
  std::sort(paths.begin(), paths.end());
  return paths;
}

bool Arrivals::is_quiet(const std::string& path, std::uintmax_t size, fs::file_time_type changed) {
  const auto settle = std::chrono::seconds(feed_->settle_s);
  bool is_quiet = time_since(changed) >= settle;
  if (!is_quiet) {
    const auto [watched, is_new] = watched_.try_emplace(path);
    if (is_new || watched->second.size != size || watched->second.changed != changed)
      watched->second = {.size = size, .changed = changed, .since = {}};
    is_quiet = watched->second.since.seconds() >= static_cast<double>(feed_->settle_s);
  }
  if (is_quiet) watched_.erase(path);
  return is_quiet;
}

std::vector<FileRow> Arrivals::look(UtcTime now) {
  const std::vector<std::string> paths = list();
  const auto is_gone = [&](const std::string& path) { return !std::binary_search(paths.begin(), paths.end(), path); };
  if (trouble_.empty()) {
    std::erase_if(files_, [&](const auto& file) { return is_gone(file.first); });
    std::erase_if(watched_, [&](const auto& file) { return is_gone(file.first); });
  }

  is_settling_ = false;
  std::vector<FileRow> rows;
  const auto note = [&](const std::string& path, const File& file, std::string why, std::string hint) {
    FileRow row{.feed = feed_->id,
                .path = path,
                .size = static_cast<std::int64_t>(file.size),
                .content_hash = file.content_hash,
                .seen_at = now,
                .state = file.reference_time ? "taken" : "refused",
                .run = file.reference_time ? run_id(feed_->id, *file.reference_time) : std::string(),
                .why = std::move(why),
                .hint = std::move(hint)};
    rows.push_back(std::move(row));
  };

  std::vector<std::string> fresh;
  for (const std::string& path : paths) {
    std::error_code failed;
    const auto size = fs::file_size(path, failed);
    const auto changed = failed ? fs::file_time_type() : fs::last_write_time(path, failed);
    if (failed) continue;  // gone again
    const auto found = files_.find(path);
    const bool is_time = found != files_.end() && found->second.again && now >= *found->second.again;
    if (found != files_.end() && found->second.size == size && found->second.changed == changed && !is_time) continue;
    if (!is_quiet(path, size, changed)) {
      is_settling_ = true;
      continue;
    }
    File file{.size = size, .changed = changed, .content_hash = {}, .reference_time = {}, .code = {}, .tries = 0, .again = {}};
    if (is_time) file.tries = found->second.tries;
    if (const auto hash = content_hash_of_file(path)) file.content_hash = *hash;
    if (found != files_.end() && !is_time && !file.content_hash.empty() && found->second.content_hash == file.content_hash) {
      found->second.size = size;  // only touched, or known from before a restart
      found->second.changed = changed;
      continue;
    }
    if (const auto whole = is_whole(path); !whole) {
      file.code = whole.error().code;
      note(path, file, whole.error().what, whole.error().hint);
      files_.insert_or_assign(path, std::move(file));
      continue;
    }
    files_.insert_or_assign(path, std::move(file));
    fresh.push_back(path);
  }
  if (fresh.empty()) return rows;
  for (const ingest::FileReference& reference : ingest::reference_times(*feed_, fresh, {})) {
    File& file = files_.at(reference.file);
    if (reference.reference_time) file.reference_time = *reference.reference_time;
    if (reference.reference_time) {
      note(reference.file, file, "", "");
      continue;
    }
    const Error& error = reference.reference_time.error();
    file.code = error.code;
    if (may_pass(error.code) && ++file.tries < kMostTries) file.again = now + kTryAgain;
    note(reference.file, file, error.what, error.hint);
  }
  return rows;
}

std::vector<std::string> Arrivals::refused_for_good() const {
  std::vector<std::string> paths;
  for (const auto& [path, file] : files_) {
    if (file.reference_time || file.changed == fs::file_time_type{}) continue;
    std::string code = file.code;
    if (code.empty())
      if (const auto whole = is_whole(path); !whole) code = whole.error().code;
    const bool may_go_on = code == "truncated" && time_since(file.changed) < kLongestUpload;
    if (!code.empty() && !may_pass(code) && !may_go_on) paths.push_back(path);
  }
  return paths;
}

std::vector<ArrivedRun> Arrivals::runs() const {
  std::map<UtcTime, ArrivedRun> by_time;
  for (const auto& [path, file] : files_) {
    if (!file.reference_time || file.size == 0) continue;
    // The same content under a second name adds nothing.
    ArrivedRun& run = by_time[*file.reference_time];
    if (run.contents.insert(file.content_hash).second) run.files.push_back(path);
  }
  std::vector<ArrivedRun> runs;
  for (auto& [time, run] : by_time) {
    run.id = run_id(feed_->id, time);
    run.feed = feed_->id;
    run.order = order_;
    run.reference_time = time;
    run.content_hash = content_hash_of(run.contents);
    runs.push_back(std::move(run));
  }
  return runs;
}

bool Arrivals::are_as_seen(const ArrivedRun& run) const {
  return std::all_of(run.files.begin(), run.files.end(), [&](const std::string& path) {
    const auto known = files_.find(path);
    std::error_code failed;
    return known != files_.end() && fs::file_size(path, failed) == known->second.size && !failed &&
           fs::last_write_time(path, failed) == known->second.changed && !failed;
  });
}

}  // namespace hakea::service
