// What is measured, for Prometheus. Names of units never appear in it: they come and go, and each would be a series for ever.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "service/engine/snapshot.h"
#include "service/store/alert_store.h"

namespace hakea::service {

class Metrics {
 public:
  Metrics();
  ~Metrics();

  // `route` is the template, empty for a path that is not known.
  void answered(std::string_view route, std::string_view method, int status, double seconds);
  // Counts the runs that came since the last call; those of the first are what was there at the start and are not counted.
  void see(const Snapshot& picture);

  // An attempt to deliver a message by a channel, such as "email".
  void sent(std::string_view channel, bool is_delivered);

  struct Now {
    std::shared_ptr<const Snapshot> picture;
    UtcTime now{};
    std::string data;                      // folder of the databases
    std::optional<UtcTime> last_backup{};  // none known: not told
    bool is_ready = false;
    int streams = 0;  // of events, that are open
    Backlog outbox{};
  };
  // Text exposition format 0.0.4. May be called from any thread, as answered() and see().
  std::string text(const Now& now);

 private:
  struct Families;
  std::unique_ptr<Families> families_;
};

inline constexpr std::string_view kMetricsType = "text/plain; version=0.0.4; charset=utf-8";

}  // namespace hakea::service
