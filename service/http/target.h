// The target of a request line (RFC 9112 §3.2) taken apart and decoded.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/result.h"

namespace hakea::service {

struct Target {
  std::string path;
  std::vector<std::pair<std::string, std::string>> query;  // in order; `+` means a blank
};

// Origin or absolute form. Error: `bad_target` for anything else, a broken percent escape, a control character, and what is no
// UTF-8.
Result<Target> parse_target(std::string_view target);

// A path, a name or a value of a query as it stands in a target.
std::string encoded(std::string_view plain);

}  // namespace hakea::service
