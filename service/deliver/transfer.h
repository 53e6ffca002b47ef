// What one attempt to deliver came to, and the one place where libcurl is made ready.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "core/base/time.h"

namespace hakea::service {

struct Attempt {
  bool is_delivered = false;
  int status = 0;           // of HTTP or SMTP, 0 where none came
  std::string error;        // what went wrong, a plain sentence; never what was answered
  std::optional<std::chrono::seconds> retry_after{};
  bool is_hopeless = false;  // trying again is no use
  bool is_gone = false;      // nobody wants these any more
};

// Before the first transfer; from any thread.
void make_transfers_ready();

}  // namespace hakea::service
