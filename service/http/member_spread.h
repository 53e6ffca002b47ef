// How far the members of an ensemble lie apart hour by hour: between which values eight in ten of them lie, and where the middle
// is.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"

namespace hakea::service {

struct MemberSpread {
  std::size_t members = 0;
  std::vector<std::size_t> quantities;  // by catalogue index
  // Of each quantity the values below which a tenth, half and nine tenths of the members lie; NaN in an hour that fewer than
  // half of the members have.
  std::vector<std::array<std::vector<float>, 3>> columns;
};

// Of the members of a point, which are of one shape, in the hours [begin, end). Directions are left out: on a circle no value
// lies below another. Nothing where there is no second member.
std::optional<MemberSpread> member_spread(std::span<const core::UnitHours> members, std::size_t begin, std::size_t end,
                                          const std::vector<std::size_t>& quantities);

// {"members":{"of","quantities":{KEY:{"unit","p10":[…],"p50":[…],"p90":[…]}}}}, or null in its place.
std::string members_json(const std::optional<MemberSpread>& spread);

}  // namespace hakea::service
