#include "service/http/routes.h"

#include <algorithm>
#include <array>

#include "service/http/handlers.h"

namespace hakea::service {
namespace {

constexpr Role kRead = Role::viewer, kDuty = Role::officer, kDecide = Role::coordinator, kRunIt = Role::operator_;
constexpr std::string_view kJson = "application/json", kGeoJson = "application/geo+json application/json",
                           kJsonOrCsv = "application/json text/csv", kTextOrJson = "text/plain application/json",
                           kEventTypes = "application/json text/event-stream application/atom+xml";

constexpr std::array kRoutes{
    Route{"GET", "/districts", kRead, "", kJson, list_districts},
    Route{"GET", "/districts/{id}", kRead, "", kJson, show_district},
    Route{"PUT", "/districts/{id}", kDecide, "", kJson, put_district},

    Route{"GET", "/units", kRead, "district status", kGeoJson, list_units},
    Route{"POST", "/units", kDecide, "", kGeoJson, add_unit},
    Route{"GET", "/units/{id}", kRead, "", kGeoJson, show_unit},
    Route{"PUT", "/units/{id}", kDecide, "", kGeoJson, put_unit},
    Route{"PATCH", "/units/{id}", kDecide, "", kGeoJson, patch_unit},
    Route{"DELETE", "/units/{id}", kDecide, "reason", kGeoJson, retire_unit},

    Route{"GET", "/units/{id}/prescription", kRead, "which", kJson, show_prescription},
    Route{"PUT", "/units/{id}/prescription", kDecide, "which", kJson, put_prescription},
    Route{"POST", "/units/{id}/trial", kRead, "run", kJson, try_prescription},

    Route{"GET", "/units/{id}/hours", kRead, "quantities from to run", kJsonOrCsv, hours_of_unit},
    Route{"GET", "/hours", kRead, "units quantities from to run", kJsonOrCsv, hours_of_units},
    Route{"GET", "/units/{id}/days", kRead, "which compare", kJson, days_of_unit},
    Route{"GET", "/units/{id}/history", kRead, "", kJson, history_of_unit},
    Route{"GET", "/units/{id}/verification", kRead, "", kJson, verification_of_unit},
    Route{"GET", "/days", kRead, "from to verdict district compare", kJson, days_of_all},
    Route{"GET", "/digest", kRead, "date district", kTextOrJson, digest, true},

    Route{"GET", "/plan", kRead, "from to district", kJson, show_plan, true},
    Route{"POST", "/plan", kRead, "district", kJson, ask_plan, true},

    Route{"GET", "/bookings", kRead, "unit state from to", kJson, list_bookings},
    Route{"POST", "/bookings", kDuty, "", kJson, add_booking},
    Route{"GET", "/bookings/{id}", kRead, "", kJson, show_booking},
    Route{"PUT", "/bookings/{id}", kDuty, "", kJson, put_booking},
    Route{"DELETE", "/bookings/{id}", kDuty, "reason", kJson, delete_booking},

    // Whoever is on duty enters a stop; lifting one is the coordinator's.
    Route{"GET", "/stops", kRead, "", kJson, list_stops},
    Route{"POST", "/stops", kDuty, "", kJson, add_stop},
    Route{"GET", "/stops/{id}", kRead, "", kJson, show_stop},
    Route{"PUT", "/stops/{id}", kDecide, "", kJson, put_stop},
    Route{"DELETE", "/stops/{id}", kDecide, "reason", kJson, lift_stop},

    Route{"GET", "/observations", kRead, "unit station kind from to", kJson, list_observations},
    Route{"POST", "/observations", kDuty, "", kJson, add_observation},
    Route{"GET", "/observations/{id}", kRead, "", kJson, show_observation},

    Route{"GET", "/outcomes", kRead, "unit result from to", kJson, list_outcomes},
    Route{"POST", "/outcomes", kDuty, "", kJson, add_outcome},
    Route{"GET", "/outcomes/{id}", kRead, "", kJson, show_outcome},

    Route{"GET", "/subscriptions", kRead, "", kJson, list_subscriptions},
    Route{"POST", "/subscriptions", kDuty, "", kJson, add_subscription},
    Route{"GET", "/subscriptions/{id}", kRead, "", kJson, show_subscription},
    Route{"PUT", "/subscriptions/{id}", kDuty, "", kJson, put_subscription},
    Route{"DELETE", "/subscriptions/{id}", kDuty, "", kJson, delete_subscription},
    Route{"POST", "/subscriptions/{id}/test", kDuty, "", kJson, test_subscription},
    Route{"POST", "/subscriptions/{id}/rotate-secret", kDuty, "", kJson, rotate_secret},
    Route{"POST", "/unsubscribe/{id}", kRead, "", kJson, unsubscribe},
    Route{"GET", "/deliveries", kRead, "subscription state limit", kJson, list_deliveries},
    Route{"POST", "/deliveries/{id}/retry", kDuty, "", kJson, retry_delivery},
    Route{"GET", "/events", kRead, "types district unit after before limit kinds", kEventTypes, list_events},
    Route{"POST", "/events/{id}/acknowledge", kDuty, "", kJson, acknowledge_event},

    Route{"GET", "/feeds", kRead, "", kJson, list_feeds},
    Route{"GET", "/feeds/{id}", kRead, "", kJson, show_feed},
    Route{"GET", "/runs", kRead, "feed state", kJson, list_runs},
    Route{"GET", "/runs/{id}", kRead, "", kJson, show_run},
    Route{"GET", "/quantities", kRead, "", kJson, list_quantities},
    Route{"GET", "/status", kRead, "", kJson, show_status},
    Route{"GET", "/audit", kDecide, "before limit", kJson, list_audit},

    Route{"GET", "/tokens", kRunIt, "", kJson, list_tokens},
    Route{"POST", "/tokens", kRunIt, "", kJson, add_token},
    Route{"DELETE", "/tokens/{id}", kRunIt, "", kJson, revoke_token},
    Route{"GET", "/session", kRead, "", kJson, show_page_session},
    Route{"POST", "/session", kRead, "", kJson, open_page_session},
    Route{"DELETE", "/session", kRead, "", kJson, end_page_session},

    Route{"POST", "/demo/clock", kDecide, "", kJson, move_clock},
};

// What stands at the {…} of a template, or nothing where the path is another.
std::optional<std::vector<std::string>> matched(std::string_view wanted, std::string_view path) {
  std::vector<std::string> ids;
  while (!wanted.empty() && !path.empty()) {
    const std::string_view piece = wanted.substr(0, wanted.find('/', 1)), segment = path.substr(0, path.find('/', 1));
    if (piece == "/{id}" && segment.size() > 1)
      ids.emplace_back(segment.substr(1));
    else if (piece != segment)
      return std::nullopt;
    wanted.remove_prefix(piece.size());
    path.remove_prefix(segment.size());
  }
  if (!wanted.empty() || !path.empty()) return std::nullopt;
  return ids;
}

}  // namespace

std::span<const Route> routes() { return kRoutes; }

FoundRoute find_route(std::string_view method, std::string_view path) {
  FoundRoute found;
  if (!path.starts_with(kApiRoot)) return found;
  path.remove_prefix(kApiRoot.size());
  if (path.size() > 1 && path.ends_with('/')) path.remove_suffix(1);
  for (const Route& route : kRoutes) {
    auto ids = matched(route.path, path);
    if (!ids) continue;
    found.methods.push_back(route.method);
    if (route.method == "GET") found.methods.push_back("HEAD");
    if (route.method == method || (route.method == "GET" && method == "HEAD")) {
      found.route = &route;
      found.ids = *std::move(ids);
    }
  }
  return found;
}

}  // namespace hakea::service
