// Places that are asked for by a box: ?bbox=.
#pragma once

#include <optional>
#include <string_view>

#include "service/http/call.h"
#include "service/input/unit_json.h"

namespace hakea::service {

// Degrees; by default the whole globe. Across 180° west is east of east (RFC 7946 §5.2).
struct Box {
  double west = -180, south = -90, east = 180, north = 90;
  // Whether some part of the geometry lies in it.
  bool touches(const Geometry& geometry) const;
  bool has(Position position) const;
};

// west,south,east,north, or with heights, which say nothing here. Nothing where it is left out, or is wrong: a mistake is added
// then.
std::optional<Box> query_box(const Call& call, Errors& mistakes);

// A finite number and nothing else.
std::optional<double> finite_number(std::string_view text);
bool is_on_globe(Position position);

}  // namespace hakea::service
