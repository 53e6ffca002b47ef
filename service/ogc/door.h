// What the OGC interfaces do otherwise than ours, at their door: the parameter `f` says what Accept does, desktop GIS send a
// token as the password of HTTP Basic, and whatever is refused also has the two members of EDR's exceptions.
#pragma once

#include <string_view>

#include "service/http/message.h"

namespace hakea::service {

inline constexpr std::string_view kOgcRoot = "/ogc";

bool is_ogc(std::string_view path);

// The request in our words: `f` as Accept, which it overrules, and Basic as Bearer.
Request as_ours(Request request);
// The answer in theirs: problem details with `code` and `description`, 400 for an `f` that is not to be had, and Basic among
// the challenges.
Response as_theirs(Response answer, const Request& asked);

}  // namespace hakea::service
