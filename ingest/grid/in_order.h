// Work on a few threads whose results come back one by one, in the order in which it was handed in.
#pragma once

#include <condition_variable>
#include <deque>
#include <functional>
#include <future>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

namespace hakea::ingest {

// `take` is called on the thread that hands in. Work may not throw; `room` bounds the sizes of what is under way.
template <class T>
class InOrder {
 public:
  InOrder(unsigned threads, std::size_t room, std::function<void(T&&)> take) : room_(room), take_(std::move(take)) {
    for (unsigned i = 0; i < threads; ++i) threads_.emplace_back([this] { run(); });
  }
  InOrder(const InOrder&) = delete;
  InOrder& operator=(const InOrder&) = delete;
  ~InOrder() {
    {
      const std::lock_guard lock(mutex_);
      ended_ = true;
      waiting_.clear();
    }
    wake_.notify_all();
    for (auto& thread : threads_) thread.join();
  }

  void hand_in(std::size_t size, std::function<T()> work) {
    while (!under_way_.empty() && used_ + size > room_) take_oldest();
    std::packaged_task<T()> task(std::move(work));
    under_way_.emplace_back(task.get_future(), size);
    used_ += size;
    {
      const std::lock_guard lock(mutex_);
      waiting_.push_back(std::move(task));
    }
    wake_.notify_one();
  }
  void finish() {
    while (!under_way_.empty()) take_oldest();
  }

 private:
  void take_oldest() {
    auto [result, size] = std::move(under_way_.front());
    under_way_.pop_front();
    used_ -= size;
    take_(result.get());
  }
  void run() {
    while (true) {
      std::packaged_task<T()> task;
      {
        std::unique_lock lock(mutex_);
        wake_.wait(lock, [this] { return ended_ || !waiting_.empty(); });
        if (ended_) return;
        task = std::move(waiting_.front());
        waiting_.pop_front();
      }
      task();
    }
  }

  std::size_t room_, used_ = 0;
  std::function<void(T&&)> take_;
  std::deque<std::pair<std::future<T>, std::size_t>> under_way_;
  std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<std::packaged_task<T()>> waiting_;
  bool ended_ = false;
  std::vector<std::thread> threads_;
};

}  // namespace hakea::ingest
