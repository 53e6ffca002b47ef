// Who calls: a token's bearer, or in the demo whoever sits at the machine.
#pragma once

#include <variant>

#include "service/http/api.h"

namespace hakea::service {

// The caller, or why there is none: 401, or 429 after too many failures.
std::variant<Actor, Response> caller_of(const ApiParts& parts, const Request& request, UtcTime now);

}  // namespace hakea::service
