// What pages of other origins may do (WHATWG Fetch, CORS protocol): nothing, unless their exact origin is configured; then
// what a token allows, never by credentials that a browser adds by itself.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "service/http/message.h"

namespace hakea::service {

// Adds to an answer what lets a page of an allowed origin read it, and to that of OPTIONS what it may send.
void say_cors(Response& answer, const Request& request, const std::vector<std::string>& allowed_origins);

}  // namespace hakea::service
