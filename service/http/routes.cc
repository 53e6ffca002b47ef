#include "service/http/routes.h"

#include <algorithm>
#include <array>
#include <unordered_map>

#include "core/base/words.h"
#include "service/http/handlers.h"
#include "service/ogc/door.h"
#include "service/ogc/handlers.h"

namespace hakea::service {
namespace {

constexpr Role kRead = Role::viewer, kDuty = Role::officer, kDecide = Role::coordinator, kRunIt = Role::operator_;
constexpr std::string_view kJson = "application/json", kGeoJson = "application/geo+json application/json",
                           kJsonOrCsv = "application/json text/csv", kTextOrJson = "text/plain text/html application/json",
                           kDescription = "application/vnd.oai.openapi+json application/json",
                           kEventTypes = "application/json text/event-stream application/atom+xml";

constexpr RestsOn kNothing = RestsOn::nothing, kWeather = RestsOn::weather, kPicture = RestsOn::picture,
                  kEntries = RestsOn::entries;
constexpr Manner kKeyed = Manner::keyed, kSlow = Manner::slow, kUnkept = Manner::unkept;

constexpr std::array kRoutes{
    Route{"GET", "/districts", kRead, "limit cursor", kJson, list_districts, kPicture},
    Route{"GET", "/districts/{id}", kRead, "", kJson, show_district, kEntries},
    Route{"PUT", "/districts/{id}", kDecide, "", kJson, put_district},
    Route{"GET", "/districts/{id}/verification", kRead, "", kJson, verification_of_district, kPicture},

    Route{"GET", "/units", kRead, "district status bbox updated_since limit cursor", kGeoJson, list_units, kPicture},
    Route{"POST", "/units", kDecide, "", kGeoJson, add_unit},
    Route{"GET", "/units/{id}", kRead, "tz", kGeoJson, show_unit, kPicture},
    Route{"PUT", "/units/{id}", kDecide, "", kGeoJson, put_unit},
    Route{"PATCH", "/units/{id}", kDecide, "", kGeoJson, patch_unit},
    Route{"DELETE", "/units/{id}", kDecide, "reason", kGeoJson, retire_unit},

    Route{"GET", "/units/{id}/prescription", kRead, "which", kJson, show_prescription, kEntries},
    Route{"PUT", "/units/{id}/prescription", kDecide, "which reason", kJson, put_prescription},
    Route{"POST", "/units/{id}/trial", kRead, "run", kJson, try_prescription},

    Route{"GET", "/units/{id}/hours", kRead, "quantities from to run limits members tz", kJsonOrCsv, hours_of_unit, kWeather},
    Route{"GET", "/hours", kRead, "units quantities from to run limits members tz", kJsonOrCsv, hours_of_units, kWeather},
    Route{"GET", "/units/{id}/days", kRead, "which compare tz", kJson, days_of_unit, kPicture},
    Route{"GET", "/units/{id}/history", kRead, "", kJson, history_of_unit, kWeather},
    Route{"GET", "/units/{id}/sheet", kRead, "date", "text/html", sheet_of_unit},  // says when it was printed
    Route{"GET", "/units/{id}/verification", kRead, "", kJson, verification_of_unit, kWeather},
    Route{"GET", "/days", kRead, "from to verdict district compare tz", kJson, days_of_all, kPicture},
    Route{"GET", "/digest", kRead, "date district", kTextOrJson, digest, kEntries, kSlow},

    Route{"GET", "/plan", kRead, "from to district", kJson, show_plan, kNothing, kSlow},
    Route{"POST", "/plan", kRead, "district", kJson, ask_plan, kNothing, kSlow},

    Route{"GET", "/bookings", kRead, "district unit state from to updated_since limit cursor", kJson, list_bookings, kPicture},
    Route{"POST", "/bookings", kDuty, "", kJson, add_booking},
    Route{"GET", "/bookings/{id}", kRead, "", kJson, show_booking, kEntries},
    Route{"PUT", "/bookings/{id}", kDuty, "", kJson, put_booking},
    Route{"DELETE", "/bookings/{id}", kDuty, "reason", kJson, delete_booking},

    // Whoever is on duty enters a stop; lifting one is the coordinator's.
    Route{"GET", "/stops", kRead, "district from to updated_since limit cursor", kJson, list_stops, kPicture},
    Route{"POST", "/stops", kDuty, "", kJson, add_stop},
    Route{"GET", "/stops/{id}", kRead, "", kJson, show_stop, kEntries},
    Route{"PUT", "/stops/{id}", kDecide, "", kJson, put_stop},
    Route{"DELETE", "/stops/{id}", kDecide, "reason", kJson, lift_stop},

    Route{"GET", "/observations", kRead, "district unit station kind from to updated_since limit cursor", kJson,
          list_observations, kEntries},
    Route{"POST", "/observations", kDuty, "", kJson, add_observation, kNothing, kKeyed},
    Route{"GET", "/observations/{id}", kRead, "", kJson, show_observation, kEntries},

    Route{"GET", "/outcomes", kRead, "district unit result from to updated_since limit cursor", kJson, list_outcomes, kEntries},
    Route{"POST", "/outcomes", kDuty, "", kJson, add_outcome, kNothing, kKeyed},
    Route{"GET", "/outcomes/{id}", kRead, "", kJson, show_outcome, kEntries},
    Route{"PUT", "/outcomes/{id}", kDuty, "reason", kJson, put_outcome},

    Route{"GET", "/subscriptions", kRead, "", kJson, list_subscriptions},
    Route{"POST", "/subscriptions", kDuty, "", kJson, add_subscription, kNothing, kUnkept},
    Route{"GET", "/subscriptions/{id}", kRead, "", kJson, show_subscription},
    Route{"PUT", "/subscriptions/{id}", kDuty, "", kJson, put_subscription, kNothing, kUnkept},
    Route{"DELETE", "/subscriptions/{id}", kDuty, "", kJson, delete_subscription},
    Route{"POST", "/subscriptions/{id}/test", kDuty, "", kJson, test_subscription, kNothing, kUnkept},
    Route{"POST", "/subscriptions/{id}/rotate-secret", kDuty, "", kJson, rotate_secret, kNothing, kUnkept},
    Route{"POST", "/unsubscribe/{id}", kRead, "", kJson, unsubscribe, kNothing, kUnkept},
    Route{"GET", "/calendars", kRead, "", kJson, list_calendars},
    Route{"POST", "/calendars", kDuty, "", kJson, add_calendar, kNothing, kUnkept},
    Route{"GET", "/calendars/{id}", kRead, "", kJson, show_calendar},
    Route{"DELETE", "/calendars/{id}", kDuty, "", kJson, take_back_calendar, kNothing, kUnkept},
    Route{"GET", "/deliveries", kRead, "subscription state limit cursor", kJson, list_deliveries},
    Route{"POST", "/deliveries/{id}/retry", kDuty, "", kJson, retry_delivery, kNothing, kUnkept},
    Route{"GET", "/events", kRead, "types district unit after before limit kinds", kEventTypes, list_events},
    Route{"POST", "/events/{id}/acknowledge", kDuty, "", kJson, acknowledge_event, kNothing, kUnkept},

    Route{"GET", "/feeds", kRead, "", kJson, list_feeds},
    Route{"GET", "/feeds/{id}", kRead, "", kJson, show_feed},
    Route{"GET", "/runs", kRead, "feed state limit cursor", kJson, list_runs, kPicture},
    Route{"GET", "/runs/{id}", kRead, "", kJson, show_run},
    Route{"GET", "/quantities", kRead, "", kJson, list_quantities, kPicture},
    Route{"GET", "/status", kRead, "", kJson, show_status},
    Route{"GET", "/audit", kDecide, "before limit cursor", kJson, list_audit, kEntries},

    Route{"GET", "/tokens", kRunIt, "", kJson, list_tokens},
    Route{"POST", "/tokens", kRunIt, "", kJson, add_token, kNothing, kUnkept},
    Route{"DELETE", "/tokens/{id}", kRunIt, "", kJson, revoke_token, kNothing, kUnkept},
    Route{"GET", "/session", kRead, "", kJson, show_page_session},
    Route{"POST", "/session", kRead, "", kJson, open_page_session, kNothing, kUnkept},
    Route{"DELETE", "/session", kRead, "", kJson, end_page_session},

    Route{"GET", "/openapi.json", kRead, "", kDescription, show_openapi},
    Route{"POST", "/demo/clock", kDecide, "", kJson, move_clock},
};

// Each also takes `f`, which is Accept in other words (service/ogc/door.h). What they answer names the host by which they were
// called, so that none of it is kept for others.
constexpr std::string_view kWhen = "datetime parameter-name crs",
                           kCoverage = "application/prs.coverage+json application/vnd.cov+json application/json",
                           kPlaces = "datetime bbox crs", kWhere = "coords datetime parameter-name crs";

constexpr std::array kOgcRoutes{
    Route{"GET", "/edr", kRead, "", kJson, edr_landing},
    Route{"GET", "/edr/conformance", kRead, "", kJson, edr_conformance},
    Route{"GET", "/edr/api", kRead, "", kDescription, describe_ogc},
    Route{"GET", "/edr/collections", kRead, "", kJson, edr_collections},
    Route{"GET", "/edr/collections/{id}", kRead, "", kJson, edr_collection},
    Route{"GET", "/edr/collections/{id}/locations", kRead, kPlaces, kGeoJson, edr_locations},
    Route{"GET", "/edr/collections/{id}/locations/{id}", kRead, kWhen, kCoverage, edr_location},
    Route{"GET", "/edr/collections/{id}/position", kRead, kWhere, kCoverage, edr_position, kNothing, kSlow},
    Route{"GET", "/edr/collections/{id}/instances", kRead, "", kJson, edr_instances},
    Route{"GET", "/edr/collections/{id}/instances/{id}", kRead, "", kJson, edr_instance},
    Route{"GET", "/edr/collections/{id}/instances/{id}/locations", kRead, kPlaces, kGeoJson, edr_locations_of_run},
    Route{"GET", "/edr/collections/{id}/instances/{id}/locations/{id}", kRead, kWhen, kCoverage, edr_location_of_run},
    Route{"GET", "/edr/collections/{id}/instances/{id}/position", kRead, kWhere, kCoverage, edr_position_of_run, kNothing, kSlow},

    Route{"GET", "/features", kRead, "", kJson, features_landing},
    Route{"GET", "/features/conformance", kRead, "", kJson, features_conformance},
    Route{"GET", "/features/api", kRead, "", kDescription, describe_ogc},
    Route{"GET", "/features/collections", kRead, "", kJson, features_collections},
    Route{"GET", "/features/collections/{id}", kRead, "", kJson, features_collection},
    Route{"GET", "/features/collections/{id}/items", kRead, "limit cursor bbox datetime district", kGeoJson, features_items},
    Route{"GET", "/features/collections/{id}/items/{id}", kRead, "", kGeoJson, features_item},
};

constexpr std::array kLinkRoutes{
    Route{"GET", "/cal/{id}", kRead, "", "text/calendar", calendar_of_link},
};

using Segments = std::vector<std::string_view>;

// Routes by the first segment of their paths and taken apart, because every request is held against them.
class RouteTable {
 public:
  struct Row {
    const Route* route;
    Segments segments;
  };
  explicit RouteTable(std::span<const Route> routes) {
    for (const Route& route : routes) {
      Segments segments = words(route.path, '/');
      rows_[segments.front()].push_back({&route, std::move(segments)});
    }
  }
  std::span<const Row> beginning_with(std::string_view first) const {
    const auto found = rows_.find(first);
    return found == rows_.end() ? std::span<const Row>() : found->second;
  }

 private:
  std::unordered_map<std::string_view, std::vector<Row>> rows_;
};

constexpr std::string_view kAnySegment = "{id}";

bool matches(const Segments& wanted, const Segments& path) {
  return std::equal(wanted.begin(), wanted.end(), path.begin(), path.end(),
                    [](std::string_view piece, std::string_view segment) { return piece == kAnySegment || piece == segment; });
}

// Nothing where a segment is empty: "/units//days" is no path of ours. One slash at the end changes nothing.
Segments segments_of(std::string_view path) {
  if (path.size() > 1 && path.ends_with('/')) path.remove_suffix(1);
  if (!path.starts_with('/') || path.find("//") != path.npos || path.ends_with('/')) return {};
  return words(path, '/');
}

}  // namespace

std::span<const Route> routes() { return kRoutes; }
std::span<const Route> ogc_routes() { return kOgcRoutes; }
std::span<const Route> link_routes() { return kLinkRoutes; }

bool is_link(std::string_view path) { return path == kCalendarRoot || path.starts_with(std::string(kCalendarRoot) + "/"); }

FoundRoute find_route(std::string_view method, std::string_view path) {
  static const RouteTable kOurs(kRoutes), kTheirs(kOgcRoutes), kLinks(kLinkRoutes);
  FoundRoute found;
  const std::string_view root = is_link(path) ? "" : is_ogc(path) ? kOgcRoot : kApiRoot;
  if (!path.starts_with(root)) return found;
  const Segments segments = segments_of(path.substr(root.size()));
  if (segments.empty()) return found;
  if (method == "HEAD") method = "GET";
  const RouteTable& table = root.empty() ? kLinks : root == kOgcRoot ? kTheirs : kOurs;
  for (const auto& [route, wanted] : table.beginning_with(segments.front())) {
    if (!matches(wanted, segments)) continue;
    found.methods.push_back(route->method);
    if (route->method == "GET") found.methods.emplace_back("HEAD");
    if (route->method != method) continue;
    found.route = route;
    found.ids.clear();
    for (std::size_t i = 0; i < wanted.size(); ++i)
      if (wanted[i] == kAnySegment) found.ids.emplace_back(segments[i]);
  }
  return found;
}

}  // namespace hakea::service
