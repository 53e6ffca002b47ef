// An engine for tests: judges what the store holds against weather tables instead of runs, on the caller's thread.
#pragma once

#include <functional>
#include <memory>
#include <vector>

#include "ingest/station/weather_csv.h"
#include "service/engine/engine.h"

namespace hakea::test {

class TableEngine : public service::Engine {
 public:
  TableEngine(const service::FuelTable& fuels, service::Store& store, UtcTime now, std::vector<ingest::WeatherTable> tables);

  std::shared_ptr<const service::Snapshot> snapshot() const override { return picture_; }
  Result<bool> judge_again(const std::set<std::string>& units) override;
  Result<bool> catch_up() override { return true; }
  std::vector<std::string> troubles() const override { return troubles_for_status; }
  std::optional<service::Progress> progress() const override { return progress_now; }
  std::uint64_t heartbeat() const override { return 1; }
  void set_now(UtcTime now) { now_ = now; }

  bool fails_to_judge = false;
  std::function<void(std::shared_ptr<const service::Snapshot> picture)> published;  // as EngineSettings has it
  std::vector<std::string> troubles_for_status;
  std::optional<service::Progress> progress_now;

 private:
  const service::FuelTable& fuels_;
  service::Store& store_;
  UtcTime now_;
  std::shared_ptr<const std::vector<ingest::WeatherTable>> tables_;
  std::shared_ptr<const service::Snapshot> picture_;
};

}  // namespace hakea::test
