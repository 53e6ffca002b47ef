// When to compute, computing, and the published picture.
//
// One thread of its own watches the feeds' folders, sorts whole files into runs, reads a run in the reader child,
// evaluates every unit, stores and publishes. What people enter is judged at once on the caller's thread. Both publish
// through the same lock, so a picture always rests on the newest entries and the newest run.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>

#include "service/base/clock.h"
#include "service/engine/snapshot.h"
#include "service/engine/unit_run.h"
#include "service/input/config.h"
#include "service/store/store.h"

namespace hakea::service {

struct EngineSettings {
  bool is_demo = false;
  // Called in the engine's thread before each look at the folders with the service's time; the demo writes the runs due.
  std::function<void(UtcTime now)> before_look;
  // Called with each picture once everybody is answered from it, one after the other.
  std::function<void(std::shared_ptr<const Snapshot> picture)> published;
  // So many runs at units are verified with one picture, so that entries need not wait long; the rest follows in the next ones.
  std::size_t verified_at_once = 2000;
  std::size_t series_held = kSeriesHeld;  // ensembles of more series, those of all units together, are put aside
};

// What the engine does at the moment.
struct Progress {
  std::string run;  // id
  UtcTime reference_time{};
  std::string_view doing;  // "reading", "judging"
  double share = 0;        // of it, from 0 to 1
};

class Engine {
 public:
  // `config`, `store` and `clock` must outlive the engine. Reads what is stored and publishes a first picture from it.
  static Result<std::unique_ptr<Engine>> start(const Config& config, Store& store, Clock& clock, EngineSettings settings);
  virtual ~Engine() = default;  // ends its thread and any reader child

  virtual std::shared_ptr<const Snapshot> snapshot() const = 0;

  // Judges again what changed entries touch and publishes before it returns; an empty set means all units.
  virtual Result<bool> judge_again(const std::set<std::string>& units) = 0;
  // Looks at the folders now and returns when everything that is whole and due was evaluated and published. For the demo's
  // clock, `--once` and tests.
  virtual Result<bool> catch_up() = 0;
  // What goes wrong at the moment, the store's trouble too, a plain sentence each, for /status.
  virtual std::vector<std::string> troubles() const = 0;
  // The run that is being read or judged; none while the engine waits.
  virtual std::optional<Progress> progress() const { return std::nullopt; }
  // Rises whenever the engine's thread comes by; for health checks.
  virtual std::uint64_t heartbeat() const = 0;
};

}  // namespace hakea::service
