// Secrets: made, compared, and kept out of what is written.
#pragma once

#include <string>
#include <string_view>

#include "core/base/result.h"

namespace hakea::service {

inline constexpr std::size_t kSecretLength = 43;  // of base64url for 32 bytes

// From the operating system's random source. Error: `no_random`.
Result<std::string> random_bytes(std::size_t count);
// 256 random bits in base64url.
Result<std::string> new_secret();
// In a time that does not tell where they differ.
bool is_same_secret(std::string_view a, std::string_view b);

// A text without the secrets of tokens, our own and signed ones, and of calendars' links in it: what people put into the wrong
// place is neither logged nor told back.
std::string without_secrets(std::string_view text);

}  // namespace hakea::service
