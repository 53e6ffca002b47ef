// Work spread over the processors.
#pragma once

#include <algorithm>
#include <atomic>
#include <exception>
#include <thread>
#include <vector>

namespace hakea::service {

inline std::size_t worker_count() { return std::max(1U, std::thread::hardware_concurrency()); }

// Calls `work(begin, end)` for contiguous parts of 0 ≤ i < count, one on every processor, and waits for them. The parts must
// not share what they change. What one of them throws is thrown on, when all have ended.
template <class Work>
void for_parts(std::size_t count, Work&& work) {
  const std::size_t workers = std::min(worker_count(), count);
  std::vector<std::exception_ptr> thrown(workers);
  const auto part = [&](std::size_t w) {
    try {
      work(count * w / workers, count * (w + 1) / workers);
    } catch (...) {
      thrown[w] = std::current_exception();
    }
  };
  {
    std::vector<std::jthread> threads;
    for (std::size_t w = 1; w < workers; ++w) threads.emplace_back(part, w);
    if (count > 0) part(0);
  }
  for (const std::exception_ptr& e : thrown)
    if (e) std::rethrow_exception(e);
}

// Calls `work(i)` for 0 ≤ i < count: whichever processor is free takes the next.
template <class Work>
void for_all(std::size_t count, Work&& work) {
  std::atomic<std::size_t> next = 0;
  for_parts(count, [&](std::size_t, std::size_t) {
    for (std::size_t i = next++; i < count; i = next++) work(i);
  });
}

}  // namespace hakea::service
