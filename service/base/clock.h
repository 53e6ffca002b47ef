// The only place that asks what time it is; everything else is told.
#pragma once

#include <atomic>
#include <chrono>
#include <filesystem>

#include "core/base/time.h"

namespace hakea::service {

inline UtcTime clock_time() { return std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now()); }

// How long ago a file was changed, by the clock that stamps files.
inline std::chrono::nanoseconds time_since(std::filesystem::file_time_type changed) {
  return std::filesystem::file_time_type::clock::now() - changed;
}

// For deadlines: of a clock that nobody sets.
using Moment = std::chrono::steady_clock::time_point;
inline Moment moment_now() { return std::chrono::steady_clock::now(); }

// How long something takes; never what time it is.
class Stopwatch {
 public:
  double seconds() const { return std::chrono::duration<double>(moment_now() - begun_).count(); }

 private:
  Moment begun_ = moment_now();
};

// The clock of a running service: the machine's, or one that was set and runs on from there (the demo's, `serve --now`).
// May be read and set from several threads.
class Clock {
 public:
  UtcTime now() const { return clock_time() + std::chrono::seconds(ahead_s_.load()); }
  void set(UtcTime now) { ahead_s_ = (now - clock_time()).count(); }
  bool is_set() const { return ahead_s_ != 0; }

 private:
  std::atomic<std::int64_t> ahead_s_{0};
};

}  // namespace hakea::service
