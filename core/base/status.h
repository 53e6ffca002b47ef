// Whether a formula is held to its publication, or only to what could be seen or remembered of it.
#pragma once

#include <cstdint>
#include <string_view>

namespace hakea::core {

enum class Status : std::uint8_t { firm, provisional };

constexpr std::string_view word(Status status) { return status == Status::firm ? "firm" : "provisional"; }

}  // namespace hakea::core
