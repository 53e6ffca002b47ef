// Which files of a feed's folder are whole, which run each belongs to, and which runs have something new.
//
// Nothing in a folder is touched here. What a file says is found by its content: the same content under the same name is looked
// at once, changed content again. A file has been quiet as long as its stamp says, or as long as it was seen unchanged; the
// service's clock says whether a run is from the future or late.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "ingest/arrival/reader_process.h"
#include "service/base/clock.h"
#include "service/store/store.h"

namespace hakea::service {

// A run with all its whole files at hand.
struct ArrivedRun {
  std::string id, feed;
  std::size_t order = 0;  // of the feed in the configuration
  UtcTime reference_time{};
  std::vector<std::string> files;  // paths, in order
  std::set<std::string> contents;  // hashes of the files' contents
  std::string content_hash;        // of these, whatever the files are called
};

class Arrivals {
 public:
  // `known`: what the store has of this feed's files, so that nothing is looked at twice after a restart.
  Arrivals(const ingest::Feed& feed, std::size_t order, const std::vector<FileRow>& known);

  // Looks at the folder. New and changed whole files are opened in the reader child for their reference time. Returns rows of
  // files that were taken or refused since the last look.
  std::vector<FileRow> look(UtcTime now);
  // By reference time, oldest first.
  std::vector<ArrivedRun> runs() const;
  // Whether the files of a run still are what the last look saw: not gone, and not written since.
  bool are_as_seen(const ArrivedRun& run) const;
  // Paths of refused files that no other look could take: not those that were refused for want of memory, room or a reader,
  // nor one that may still be on its way.
  std::vector<std::string> refused_for_good() const;
  // Why the folder cannot be read, empty when it can.
  const std::string& trouble() const { return trouble_; }
  // Whether a file was still too young to count at the last look.
  bool is_settling() const { return is_settling_; }
  const ingest::Feed& feed() const { return *feed_; }

 private:
  struct File {
    std::uintmax_t size = 0;
    std::filesystem::file_time_type changed{};
    std::string content_hash;
    std::optional<UtcTime> reference_time;  // none: refused
    std::string code;                       // why; empty when that was before a restart
    int tries = 0;                          // looks that failed for a reason that may pass
    std::optional<UtcTime> again;           // when to look once more
  };
  std::vector<std::string> list();
  bool is_companion(const std::string& path) const;

  const ingest::Feed* feed_;
  std::size_t order_;
  // A file that changed lately: since when it has been seen as it is now, for folders whose clock is not ours.
  struct Watched {
    std::uintmax_t size = 0;
    std::filesystem::file_time_type changed{};
    Stopwatch since;
  };
  bool is_quiet(const std::string& path, std::uintmax_t size, std::filesystem::file_time_type changed);

  std::map<std::string, File> files_;
  std::map<std::string, Watched> watched_;
  std::string trouble_;
  bool is_settling_ = false;
};

// Of the contents of several files, whatever their order and names.
std::string content_hash_of(const std::set<std::string>& contents);

// Whether a file's name is one by which programs write what is not whole yet.
bool is_being_written(std::string_view name);

// Whether a refusal lies with this machine rather than with the file, so that another try may succeed; how long to wait for it,
// and how often it is made.
bool may_pass(const std::string& code);
inline constexpr std::chrono::minutes kTryAgain{5};
inline constexpr int kMostTries = 5;

// "fine.2027-03-29T12:00:00Z"
std::string run_id(const std::string& feed, UtcTime reference_time);

// A span of time as a feed's `late_after` has it: "7h", "90min", "05:30". Nothing where it is none of these.
std::optional<std::chrono::seconds> span_of(std::string_view text);

}  // namespace hakea::service
