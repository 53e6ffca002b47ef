// Failed attempts to prove who one is, by address: ten within a minute, and the address is refused for the rest of it.
#pragma once

#include <deque>
#include <map>
#include <mutex>
#include <string>

#include "core/base/time.h"

namespace hakea::service {

class FailedCallers {
 public:
  bool is_refused(const std::string& address, UtcTime now);
  void add(const std::string& address, UtcTime now);

 private:
  void forget_old(UtcTime now);

  std::mutex lock_;
  std::map<std::string, std::deque<UtcTime>> by_address_;
};

}  // namespace hakea::service
