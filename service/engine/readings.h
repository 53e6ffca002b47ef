// What came of the readings of runs, so that none is read again for nothing, and one that failed for want of something is.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "service/engine/arrivals.h"

namespace hakea::service {

class Readings {
 public:
  // From what was noted before a restart: `hash_of` gives the content hash of a run that counts, empty for any other.
  void remember(const std::vector<FileRow>& files, const std::function<std::string(const std::string& run)>& hash_of);
  // The run was read, and counts from now on.
  void counted(const ArrivedRun& run);
  // Whether it counts and was read from all that is there of it now: files that go once they were read take nothing away.
  bool cover(const ArrivedRun& run) const;

  // A reading that failed for reasons that may pass: it is made again after a while, a few times.
  void failed_for_now(const ArrivedRun& run, UtcTime now);
  void ended(const ArrivedRun& run) { tries_.erase(run.id); }
  // Whether it is time for another try; nothing where the last one did not fail so.
  std::optional<bool> is_time_to_try(const ArrivedRun& run, UtcTime now) const;

 private:
  struct Try {
    std::string of;  // content hash
    int number = 0;
    UtcTime again{};
  };
  std::map<std::string, std::set<std::string>> read_from_;  // by run: contents of its files
  std::map<std::string, Try> tries_;                        // by run
};

}  // namespace hakea::service
