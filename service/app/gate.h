// What many pass and one closes: requests go through, and wait while a configuration takes the place of another.
#pragma once

#include <condition_variable>
#include <mutex>

namespace hakea::service {

class Gate {
 public:
  class Pass {
   public:
    explicit Pass(Gate& gate) : gate_(gate) {
      std::unique_lock lock(gate_.lock_);
      gate_.changed_.wait(lock, [&] { return !gate_.is_closed_; });
      ++gate_.inside_;
    }
    // Does not wait: `is_through` says whether it was open.
    Pass(Gate& gate, std::try_to_lock_t) : gate_(gate) {
      const std::lock_guard lock(gate_.lock_);
      is_through_ = !gate_.is_closed_;
      if (is_through_) ++gate_.inside_;
    }
    bool is_through() const { return is_through_; }
    ~Pass() {
      if (!is_through_) return;
      const std::lock_guard lock(gate_.lock_);
      --gate_.inside_;
      gate_.changed_.notify_all();
    }
    Pass(const Pass&) = delete;
    Pass& operator=(const Pass&) = delete;

   private:
    Gate& gate_;
    bool is_through_ = true;
  };

  // Lets nobody in while it lives; begins when everybody is out.
  class Closed {
   public:
    explicit Closed(Gate& gate) : gate_(gate) {
      std::unique_lock lock(gate_.lock_);
      gate_.is_closed_ = true;
      gate_.changed_.wait(lock, [&] { return gate_.inside_ == 0; });
    }
    ~Closed() {
      const std::lock_guard lock(gate_.lock_);
      gate_.is_closed_ = false;
      gate_.changed_.notify_all();
    }
    Closed(const Closed&) = delete;
    Closed& operator=(const Closed&) = delete;

   private:
    Gate& gate_;
  };

 private:
  std::mutex lock_;
  std::condition_variable changed_;
  int inside_ = 0;
  bool is_closed_ = false;
};

}  // namespace hakea::service
