// The list of what the interface offers: one row a method of a path. To add a resource, write its handler and its row.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "service/http/call.h"

namespace hakea::service {

// What an answer to GET rests on beside the revision of its resource: what makes its ETag, and for how long it is kept.
enum class RestsOn : std::uint8_t {
  nothing,  // it may be another at any moment, or rests on something else
  weather,  // the published picture, and people's entries only through it; may be a minute old
  picture,  // the published picture
  entries,  // the published picture and what stands in the store, judged or not
};

// How a request is carried out.
enum class Manner : std::uint8_t {
  usual,
  keyed,   // token callers must give it an Idempotency-Key
  slow,    // it may take seconds, so that it is answered on a worker of its own
  unkept,  // not kept for the same request under the same key, which counts for nothing: a secret is told, or twice is as once
};

struct Route {
  std::string_view method;
  std::string_view path;   // below /api/v1; {id} stands for one segment
  Role least;              // may call it, and roles above it that have the scope (service/access/scopes.h)
  std::string_view query;  // known parameters, separated by blanks
  std::string_view types;  // media types it answers in, the first by default
  Response (*answer)(const Call&);
  RestsOn rests_on = RestsOn::nothing;
  Manner manner = Manner::usual;
};

std::span<const Route> routes();
std::span<const Route> ogc_routes();   // below /ogc
std::span<const Route> link_routes();  // at the root: who has the link need be nobody

inline constexpr std::string_view kCalendarRoot = "/cal";
bool is_link(std::string_view path);

// The route of a method and path with what stood at its {…}. Without a route `methods` lists those the path has: empty for
// a path that is not known.
struct FoundRoute {
  const Route* route = nullptr;
  std::vector<std::string> ids;
  std::vector<std::string_view> methods;
};
FoundRoute find_route(std::string_view method, std::string_view path);

}  // namespace hakea::service
