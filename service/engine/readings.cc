#include "service/engine/readings.h"

#include <algorithm>

namespace hakea::service {

void Readings::remember(const std::vector<FileRow>& files, const std::function<std::string(const std::string& run)>& hash_of) {
  std::map<std::string, std::set<std::string>> contents;
  for (const FileRow& file : files)
    if (file.state == "taken") contents[file.run].insert(file.content_hash);
  // Where a file came that was not read any more, or one was written over, the notes say nothing.
  for (auto& [run, hashes] : contents)
    if (hash_of(run) == content_hash_of(hashes)) read_from_[run] = std::move(hashes);
}

void Readings::counted(const ArrivedRun& run) { read_from_[run.id] = run.contents; }

bool Readings::cover(const ArrivedRun& run) const {
  const auto read = read_from_.find(run.id);
  return read != read_from_.end() &&
         std::includes(read->second.begin(), read->second.end(), run.contents.begin(), run.contents.end());
}

void Readings::failed_for_now(const ArrivedRun& run, UtcTime now) {
  Try& last = tries_[run.id];
  if (last.of != run.content_hash) last = {.of = run.content_hash, .number = 0, .again = {}};
  ++last.number;
  last.again = now + kTryAgain;
}

std::optional<bool> Readings::is_time_to_try(const ArrivedRun& run, UtcTime now) const {
  const auto last = tries_.find(run.id);
  if (last == tries_.end() || last->second.of != run.content_hash) return std::nullopt;
  return last->second.number < kMostTries && now >= last->second.again;
}

}  // namespace hakea::service
