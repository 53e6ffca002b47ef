// A carried state as text, every bit of every number kept: the next run goes on as if there had been only one.
#pragma once

#include <string>
#include <string_view>

#include "core/base/result.h"
#include "core/wetness/state.h"

namespace hakea::service {

std::string carried_json(const core::WetnessState& state);
// Error: `damaged_state`.
Result<core::WetnessState> parse_carried(std::string_view text, const std::string& where);

}  // namespace hakea::service
