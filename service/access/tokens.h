// API tokens.
#pragma once

#include <string_view>

#include "core/base/result.h"
#include "service/access/actor.h"
#include "service/store/store.h"

namespace hakea::service {

// Whose token it is.
Result<Actor> actor_of(Store& store, std::string_view bearer, UtcTime now);

}  // namespace hakea::service
