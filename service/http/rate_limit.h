// How many requests a caller may make (RateLimit header fields for HTTP, draft-ietf-httpapi-ratelimit-headers-10): so many
// within a window that begins with the first of them.
#pragma once

#include <map>
#include <mutex>
#include <string>

#include "core/base/time.h"
#include "service/http/api_settings.h"
#include "service/http/message.h"

namespace hakea::service {

class RateLimit {
 public:
  struct Left {
    bool is_over = false;  // this request is one too many
    int requests = 0;      // still to be made in this window
    int seconds = 0;       // until it ends
  };
  // Counts a request of a caller: a token or an address.
  Left count(const std::string& caller, UtcTime now, const ApiSettings& settings);

 private:
  struct Window {
    UtcTime begun{};
    int requests = 0;
  };
  std::mutex lock_;
  std::map<std::string, Window> windows_;
};

// RateLimit-Policy and RateLimit, and Retry-After where it was one too many.
void say_rate_limit(Response& answer, const RateLimit::Left& left, const ApiSettings& settings);

}  // namespace hakea::service
