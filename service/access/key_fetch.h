// The text of a key set, from a file or by HTTPS.
#pragma once

#include <string>
#include <string_view>

#include "core/base/result.h"

namespace hakea::service {

// https://…, or http:// at this machine.
bool is_url(std::string_view place);
// Why a URL may not be asked for keys; empty where it may.
std::string wrong_url(std::string_view url);

// No redirects, a few seconds, a megabyte at most. Errors: `unreadable`.
Result<std::string> fetch_keys(const std::string& place);

}  // namespace hakea::service
