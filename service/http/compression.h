// Answers compressed by gzip (RFC 1952). Other codings are a proxy's business.
#pragma once

#include <string>
#include <string_view>

#include "service/http/message.h"

namespace hakea::service {

// Whether an Accept-Encoding header takes gzip (RFC 9110 §12.5.3).
bool takes_gzip(std::string_view accept_encoding);

// Whether compressing an answer is worth it and harms nothing: text of more than a kilobyte that holds no secret. (Beside
// what a caller can make stand in an answer the length of the compressed whole tells a secret.)
bool is_worth_compressing(const Request& request, const Response& answer);

// Empty when there is no memory for it.
std::string gzip(std::string_view bytes);

}  // namespace hakea::service
