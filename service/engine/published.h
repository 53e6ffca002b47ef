// The picture that everybody is answered from, taken and put whole.
//
// A lock of a few instructions rather than std::atomic<std::shared_ptr>: that of GCC 12 ends its reads with a relaxed order,
// which the thread sanitizer rightly calls a race.
#pragma once

#include <memory>
#include <mutex>
#include <utility>

#include "service/engine/snapshot.h"

namespace hakea::service {

class PublishedPicture {
 public:
  std::shared_ptr<const Snapshot> load() const {
    const std::lock_guard lock(mutex_);
    return picture_;
  }
  // The picture before it is let go after the lock.
  void store(std::shared_ptr<const Snapshot> picture) {
    const std::lock_guard lock(mutex_);
    picture_.swap(picture);
  }

 private:
  mutable std::mutex mutex_;
  std::shared_ptr<const Snapshot> picture_;
};

}  // namespace hakea::service
