// The words that members of what people enter may have, for those who ask for entries by them.
#pragma once

#include <span>
#include <string_view>

namespace hakea::service {

std::span<const std::string_view> unit_statuses();   // unit_json.cc
std::span<const std::string_view> booking_states();  // district_json.cc

}  // namespace hakea::service
