// What tests write into a store.
#pragma once

#include <chrono>
#include <string>
#include <utility>
#include <vector>

#include "service/store/store.h"

namespace hakea::test {

// By a token of one name whoever shows it.
inline service::Actor actor_named(std::string name) {
  service::Actor actor;
  actor.name = std::move(name);
  actor.token_id = "abcdefgh";
  actor.address = "192.0.2.7";
  actor.request_id = "r-1";
  return actor;
}

// A published run of the feed "fine", complete and computed four hours after its reference time.
inline service::RunRow run_row(std::string id, UtcTime reference, int revision, std::string content_hash) {
  service::RunRow run;
  run.id = std::move(id);
  run.feed = "fine";
  run.reference_time = reference;
  run.revision = revision;
  run.state = "complete";
  run.content_hash = std::move(content_hash);
  run.received_at = reference + std::chrono::hours(3);
  run.computed_at = reference + std::chrono::hours(4);
  run.is_published = true;
  run.details = R"({"files":1})";
  return run;
}

// Columns for Store::put_series() that stand in memory.
inline service::Store::NextBlobs at_once(std::vector<service::SeriesBlob> blobs) {
  return [rest = std::move(blobs)]() mutable -> Result<std::vector<service::SeriesBlob>> { return std::exchange(rest, {}); };
}

}  // namespace hakea::test
