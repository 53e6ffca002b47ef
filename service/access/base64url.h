// RFC 4648 section 5, without padding: the letters of tokens and of what RFC 7515 signs.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace hakea::service {

std::string base64url(std::string_view bytes);
// Nothing for any other letter, for padding, and where bits are left over that no encoder leaves.
std::optional<std::string> from_base64url(std::string_view text);

}  // namespace hakea::service
