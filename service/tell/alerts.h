// The alerts of a running service: looks at each picture, and at the time that passes, decides what is to be told (core/alert)
// and writes events, deliveries and what was told in one transaction. What could not be written is decided again at the next
// look, since it compares with what was written last.
#pragma once

#include <memory>
#include <mutex>

#include "core/plan/program.h"
#include "service/engine/snapshot.h"
#include "service/store/store.h"
#include "service/tell/alert_memory.h"

namespace hakea::service {

class Alerts {
 public:
  // `store` must outlive it. A store without alerts tells nobody anything. `solver` is for the digest's plan.
  static Result<std::unique_ptr<Alerts>> start(Store& store, core::RouteRules rules, core::ProgramSolver solver);

  // From any thread; a picture older than the last one seen is not looked at.
  Result<bool> look(std::shared_ptr<const Snapshot> picture, UtcTime now);
  // Another engine counts its pictures from the beginning.
  void begin_again();

 private:
  Alerts(AlertStore& alerts, Store& store, core::RouteRules rules, core::ProgramSolver solver)
      : alerts_(alerts), store_(store), rules_(rules), solver_(std::move(solver)) {}
  Result<std::vector<core::Subscription>> subscriptions() const;
  std::optional<EventRow> row_of(const core::AlertEvent& event) const;
  void forget_old(UtcTime now);

  AlertStore& alerts_;
  Store& store_;
  const core::RouteRules rules_;
  const core::ProgramSolver solver_;
  std::mutex looking_;
  std::shared_ptr<const Snapshot> picture_;  // the facts are of it
  core::AlertFacts facts_;
  AlertMemory memory_;
  MemoryTexts written_;
  LocalDate forgotten_on_{};
};

// A test message to a subscription, which is sent whatever its quiet hours say; and asking for one.
AlertCommit test_message(const std::string& subscription, const std::string& owner, UtcTime now);
Result<bool> send_test(AlertStore& alerts, const std::string& subscription, const std::string& owner, UtcTime now);

// The zone of who names none: of the first district.
TimeZone usual_zone(const Snapshot& snapshot);

}  // namespace hakea::service
