// What one attempt to deliver came to.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <utility>

namespace hakea::service {

struct Attempt {
  bool is_delivered = false;
  int status = 0;     // of HTTP or SMTP, 0 where none came
  std::string error;  // what went wrong, a plain sentence; never what was answered
  std::optional<std::chrono::seconds> retry_after{};
  bool is_hopeless = false;  // trying again is no use
  bool is_gone = false;      // nobody wants these any more
};

// One that nobody answered.
inline Attempt failed_attempt(std::string error, bool is_hopeless = false) {
  Attempt attempt;
  attempt.error = std::move(error);
  attempt.is_hopeless = is_hopeless;
  return attempt;
}

}  // namespace hakea::service
