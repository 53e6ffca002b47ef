// What the configuration says of the interface beyond its listener.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace hakea::service {

struct ApiSettings {
  // Requests of one token, or of one address without a token, within so many seconds; 0: without limit.
  int requests = 600, seconds = 60;
  std::vector<std::string> allowed_origins;  // of pages elsewhere, such as "https://maps.example.org"; none: CORS is off
  std::size_t kept_answers_bytes = 64 * 1024 * 1024;
};

}  // namespace hakea::service
