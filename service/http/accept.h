// Which media type a caller wants (RFC 9110 §12.5.1).
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace hakea::service {

// The best of the offered types (separated by blanks, the first by default) under an Accept header; nothing when none will
// do.
std::optional<std::string> best_type(std::string_view accept, std::string_view offered);

// What a Content-Type names, without its parameters.
std::string_view type_alone(std::string_view content_type);

}  // namespace hakea::service
