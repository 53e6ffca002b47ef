// Whether the service still does its work: its input and output go on, and the engine's thread comes by.
#pragma once

#include <atomic>
#include <cstdint>

namespace hakea::service {

inline constexpr int kTickSeconds = 5;

class Liveness {
 public:
  // Once a tick, with the two heartbeats. The manager's watchdog is fed when it says yes.
  bool tick(std::uint64_t io, std::uint64_t engine) {
    io_.see(io);
    engine_.see(engine);
    is_alive_ = io_.ticks_without < kIoTicks && engine_.ticks_without < kEngineTicks;
    return is_alive_;
  }
  bool is_alive() const { return is_alive_; }  // at the last tick; from any thread

 private:
  // Input and output come by every second. The engine may be in one piece of work for long: a whole cycle for many units is
  // evaluated in far less than a quarter of an hour.
  static constexpr int kIoTicks = 3, kEngineTicks = 15 * 60 / kTickSeconds;
  struct Heart {
    std::uint64_t beat = 0;
    int ticks_without = 0;
    void see(std::uint64_t now) {
      ticks_without = now == beat ? ticks_without + 1 : 0;
      beat = now;
    }
  };
  Heart io_, engine_;
  std::atomic<bool> is_alive_ = true;
};

}  // namespace hakea::service
