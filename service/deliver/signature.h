// Signing messages by the open Standard Webhooks rules, version 1.0.0: HMAC-SHA256 over "id.timestamp.body".
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/time.h"

namespace hakea::service {

std::string base64(std::string_view bytes);  // RFC 4648 section 4, padded
std::optional<std::string> from_base64(std::string_view text);

// "v1,<base64>" for each secret, separated by blanks: while a secret is rotated both sign. Secrets are base64 of the key.
std::string signatures(std::string_view id, UtcTime at, std::string_view body, const std::vector<std::string>& secrets);

// As it is shown to who receives: "whsec_<base64>".
std::string shown_secret(std::string_view secret);

}  // namespace hakea::service
