// What whoever runs the machine asks, at a listener of its own: /livez, /readyz, /metrics. It asks for no token and is therefore
// bound to this machine unless configured otherwise; nothing in it is about people or units.
#pragma once

#include <functional>
#include <string>

#include "service/engine/engine.h"
#include "service/http/message.h"
#include "service/store/store.h"

namespace hakea::service {

struct Readiness {
  bool is_writable = false;      // the database takes a write; that it is migrated is what opened it
  std::string_view first_run{};  // "loaded", "loading", "nothing to load", or "not looked for yet"
  bool is_ready() const { return is_writable && first_run != kNotYet; }
  static constexpr std::string_view kNotYet = "not looked for yet";
};

// Ready to answer: a run is loaded, is being loaded, or it is known that there is none. A feed that is late makes nobody
// unready: the board would be taken away when it is needed; it shows in /status and in the metrics.
Readiness readiness_of(const Engine& engine, bool is_writable);

struct AdminParts {
  std::function<bool()> is_alive;
  std::function<Readiness()> readiness;
  std::function<std::string()> metrics;
};

Response respond_as_admin(const AdminParts& parts, const Request& request);

}  // namespace hakea::service
