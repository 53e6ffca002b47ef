// An engine on made-up runs: small NetCDF files in a folder of its own, a store in memory, a clock that is set by hand.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <optional>
#include <string>

#include "service/engine/engine.h"
#include "service/http/api.h"
#include "tests/support/made_up_run.h"
#include "tests/support/memory_store.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {

class EngineRig : public ::testing::Test {
 protected:
  EngineRig();

  static UtcTime at(double hours) { return made_up_time(hours); }
  void set_clock(double hours) { clock_.set(at(hours)); }
  ingest::Feed& feed(std::size_t i) { return config_.feeds[i]; }
  // Adds a feed with a folder of its own.
  ingest::Feed& add_feed(const std::string& id, int last_lead_h, int step_h = 1);
  std::string put(const MadeUpRun& run) const;  // renamed into place; the path
  void put_file(const std::string& feed, const std::string& name, const std::string& bytes) const;
  void enter(EntryKind kind, const std::string& id, std::optional<std::string> body);
  void enter_unit(const std::string& id, const std::string& limits, double longitude = 150);
  void start();
  void stop() { engine_.reset(); }
  ApiParts parts();  // what answers requests about the started engine, as in the demo
  void catch_up();
  std::shared_ptr<const Snapshot> picture() const { return engine_->snapshot(); }
  const UnitView& unit(const std::string& id = "u");
  // "met", "out", … by local date (day of March or April), in order of date.
  std::string says(const std::string& id = "u");
  std::string verdict(LocalDate date, const std::string& id = "u");
  const RunRow* run(const std::string& id);
  const FileRow* refused(const std::string& file_name);
  // Everything a picture says of the units, as text.
  static std::string text_of(const Snapshot& snapshot);

  TempDir folder_;
  Config config_;
  Clock clock_;
  MemoryStore store_;
  EngineSettings settings_;
  std::unique_ptr<Engine> engine_;
  std::shared_ptr<const Snapshot> last_;
};

LocalDate date_of(int month, int day);

}  // namespace hakea::test
