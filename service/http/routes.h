// The list of what the interface offers: one row a method of a path. To add a resource, write its handler and its row.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "service/http/call.h"

namespace hakea::service {

struct Route {
  std::string_view method;
  std::string_view path;   // below /api/v1; {id} stands for one segment
  Role least;              // may call it; roles above it too
  std::string_view query;  // known parameters, separated by blanks
  std::string_view types;  // media types it answers in, the first by default
  Response (*answer)(const Call&);
  bool is_long = false;  // may take seconds
};

std::span<const Route> routes();
std::span<const Route> ogc_routes();  // below /ogc

// The route of a method and path with what stood at its {…}. Without a route `methods` lists those the path has: empty for
// a path that is not known.
struct FoundRoute {
  const Route* route = nullptr;
  std::vector<std::string> ids;
  std::vector<std::string_view> methods;
};
FoundRoute find_route(std::string_view method, std::string_view path);

}  // namespace hakea::service
