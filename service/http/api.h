// The REST interface below /api/v1 (INTERFACE §7), and the OGC interfaces below /ogc: from a request to its answer.
#pragma once

#include <functional>
#include <memory>
#include <optional>

#include "core/plan/program.h"
#include "service/access/oidc.h"
#include "service/base/clock.h"
#include "service/engine/engine.h"
#include "service/engine/grid_points.h"
#include "service/http/failed_callers.h"
#include "service/http/known_answers.h"
#include "service/http/known_callers.h"
#include "service/http/known_plans.h"
#include "service/http/message.h"
#include "service/http/rate_limit.h"
#include "service/http/running_requests.h"
#include "service/store/store.h"

namespace hakea::service {

struct ApiParts {
  Engine* engine = nullptr;
  Store* store = nullptr;
  Clock* clock = nullptr;
  const Config* config = nullptr;
  bool is_demo = false;        // every loopback caller is coordinator; the clock may be moved
  core::ProgramSolver solver;  // chooses what a plan proposes
  // Demo only: moves the clock and releases the runs due; empty otherwise.
  std::function<Result<bool>(UtcTime to)> move_clock;
  std::shared_ptr<Oidc> oidc;  // takes tokens of the identity provider; null: none is configured
  // Kept from call to call.
  std::shared_ptr<FailedCallers> failed_callers = std::make_shared<FailedCallers>();
  std::shared_ptr<GridPoints> grid_points = std::make_shared<GridPoints>();
  std::shared_ptr<KnownPlans> plans = std::make_shared<KnownPlans>();
  std::shared_ptr<RateLimit> rate_limit = std::make_shared<RateLimit>();
  std::shared_ptr<KnownAnswers> answers = std::make_shared<KnownAnswers>();
  std::shared_ptr<KnownCallers> callers = std::make_shared<KnownCallers>();
  std::shared_ptr<RunningRequests> running = std::make_shared<RunningRequests>();
};

// What is told of a call in the log and in metrics: never its path, which may hold anything.
struct CallNote {
  std::string_view route;  // the template; empty for a path that is not known
  std::string actor;       // empty for nobody
};

// Whether an answer may take seconds: other callers should not wait for it.
bool takes_long(const Request& request);

// Never throws. Unknown paths, wrong methods, missing actors and everything refused are answered as problem details.
Response respond(const ApiParts& parts, const Request& request, CallNote* note = nullptr);

// The same answer where it is kept, or what the caller has of it still holds, and who calls is known without asking the store:
// nothing is waited for and nothing is written. Nothing in every other case. What it throws respond() comes upon too.
std::optional<Response> respond_at_once(const ApiParts& parts, const Request& request, CallNote* note = nullptr);

}  // namespace hakea::service
