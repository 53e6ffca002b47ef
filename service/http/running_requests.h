// Keyed requests that are being carried out.
#pragma once

#include <mutex>
#include <set>
#include <string>

#include "service/store/store.h"

namespace hakea::service {

class RunningRequests {
 public:
  // False when one of this caller and key runs already.
  bool begin(const KeyedRequest& request) {
    const std::lock_guard hold(lock_);
    return running_.insert(request.caller + '\n' + request.key).second;
  }
  void end(const KeyedRequest& request) {
    const std::lock_guard hold(lock_);
    running_.erase(request.caller + '\n' + request.key);
  }

 private:
  std::mutex lock_;
  std::set<std::string> running_;
};

}  // namespace hakea::service
