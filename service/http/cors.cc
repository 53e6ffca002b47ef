#include "service/http/cors.h"

#include <algorithm>

namespace hakea::service {

void say_cors(Response& answer, const Request& request, const std::vector<std::string>& allowed_origins) {
  if (allowed_origins.empty()) return;
  const std::string_view vary = answer.header("Vary");
  answer.set_header("Vary", vary.empty() ? "Origin" : std::string(vary) + ", Origin");
  const std::string origin(request.header("origin"));
  if (origin.empty() || std::find(allowed_origins.begin(), allowed_origins.end(), origin) == allowed_origins.end()) return;
  answer.set_header("Access-Control-Allow-Origin", origin);
  answer.set_header("Access-Control-Expose-Headers",
                    "ETag, Link, Location, RateLimit, RateLimit-Policy, Retry-After, Deprecation, Sunset, X-Request-Id");
  if (request.method != "OPTIONS") return;
  answer.set_header("Access-Control-Allow-Methods", std::string(answer.header("Allow")));
  answer.set_header("Access-Control-Allow-Headers",
                    "Accept, Authorization, Content-Type, Idempotency-Key, If-Match, If-None-Match, X-Request-Id");
  answer.set_header("Access-Control-Max-Age", "600");
}

}  // namespace hakea::service
