// Failed attempts to prove who one is, by address: ten within a minute, and no more are listened to for the rest of it. Who shows
// a token that is known is let in all the same: behind a proxy everybody comes from its address, and a stranger there must not
// keep the others out. Secrets of 256 bits need no slower guessing.
#pragma once

#include <deque>
#include <map>
#include <mutex>
#include <string>

#include "core/base/time.h"

namespace hakea::service {

class FailedCallers {
 public:
  // Notes an attempt; false where it is one too many.
  bool add(const std::string& address, UtcTime now);

 private:
  void forget_old(UtcTime now);

  std::mutex lock_;
  std::map<std::string, std::deque<UtcTime>> by_address_;
};

}  // namespace hakea::service
