// The running service: clock, store, engine and servers put together, the configuration in force, and the wait until it is told
// to end.
#pragma once

#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "service/app/admin.h"
#include "service/app/gate.h"
#include "service/app/liveness.h"
#include "service/app/metrics.h"
#include "service/base/clock.h"
#include "service/deliver/courier.h"
#include "service/engine/engine.h"
#include "service/http/api.h"
#include "service/http/server.h"
#include "service/input/config.h"
#include "service/store/store.h"
#include "service/tell/alerts.h"
#include "service/tell/calendars.h"

namespace hakea::service {

// Ends by SIGTERM and SIGINT are taken by whoever waits for them: to be called before the first thread starts.
void take_signals();

class Service {
 public:
  struct Settings {
    Config config;
    std::string config_path;  // read again at SIGHUP; empty: there is none
    bool is_demo = false;
    std::optional<UtcTime> now;  // where the clock starts, for a service whose time is not the machine's
    // Before anything is judged: fills a new store. Called with the store open and the clock set.
    std::function<Result<bool>(Store& store, Clock& clock)> prepare;
    std::function<void(UtcTime now)> before_look;
    // Where the clock's time is kept, so that a later start goes on from there: every few seconds, before it is moved and at
    // the end.
    std::function<Result<bool>(Store& store, UtcTime now)> keep_time;
  };

  // Opens the store, judges what is there. Nothing listens yet.
  static Result<std::unique_ptr<Service>> start(Settings settings);
  ~Service();

  // Answers requests until SIGTERM or SIGINT; requests at hand may finish. `listening` is told the port.
  Result<bool> serve(const std::function<void(int port)>& listening);

  Result<bool> catch_up();              // everything that is due, and what the digest must remember
  Result<bool> move_clock(UtcTime to);  // forward, a month at most
  const Settings& settings() const { return settings_; }
  Engine& engine() { return *engine_; }
  Store& store() { return *store_; }
  Clock& clock() { return clock_; }

 private:
  explicit Service(Settings settings) : settings_(std::move(settings)) {}
  void keep_what_was_said();
  void tell(std::shared_ptr<const Snapshot> picture);
  void keep_time();
  void wait_for_the_end();
  void start_admin();
  Response answer(const Request& request);
  std::optional<Response> answer_at_once(const Request& request);
  Result<std::unique_ptr<Engine>> start_engine(const Config& config);
  // Reads the configuration again: it is taken whole, or the one in force stays and the log says why.
  void reload();
  Result<bool> take(std::shared_ptr<const Config> next);
  bool is_writable();

  Settings settings_;
  Clock clock_;
  std::mutex moving_;  // held while the clock is moved or its time kept
  std::unique_ptr<Store> store_;
  std::shared_ptr<const Config> config_, engine_config_;  // in force; the one the engine began with
  std::unique_ptr<Alerts> alerts_;
  std::unique_ptr<Calendars> calendars_;
  std::unique_ptr<Engine> engine_;
  std::unique_ptr<Courier> courier_;
  ApiParts parts_;
  Gate gate_;  // closed while the configuration in force changes
  Metrics metrics_;
  Liveness liveness_;
  bool is_reload_wanted_ = false;
  std::mutex probing_;
  std::optional<Stopwatch> probed_;  // since the database was last tried
  bool could_write_ = false;
  std::unique_ptr<Server> server_, admin_;
};

}  // namespace hakea::service
