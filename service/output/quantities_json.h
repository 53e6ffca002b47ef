// The catalogue as JSON (INTERFACE §5 `quantities`).
#pragma once

#include <array>
#include <string>

#include "core/weather/column.h"

namespace hakea::service {

// Why a value can be missing.
inline constexpr std::array kReasons{core::Reason::not_in_feed,    core::Reason::gap,           core::Reason::no_state,
                                     core::Reason::no_parameter,   core::Reason::no_model,      core::Reason::not_applicable,
                                     core::Reason::no_profile,     core::Reason::out_of_domain, core::Reason::not_finite,
                                     core::Reason::beyond_horizon, core::Reason::no_limits};

std::string quantities_json();

}  // namespace hakea::service
