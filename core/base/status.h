// Whether a formula is held to its publication, or only to what could be seen or remembered of it.
#pragma once

#include <cstdint>

namespace hakea::core {

enum class Status : std::uint8_t { firm, provisional };

}  // namespace hakea::core
