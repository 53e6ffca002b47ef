#include "service/http/failed_callers.h"

namespace hakea::service {
namespace {

constexpr std::size_t kFailures = 10;
constexpr std::chrono::seconds kWithin{60};
constexpr std::size_t kAddresses = 10000;  // remembered at most

}  // namespace

bool FailedCallers::add(const std::string& address, UtcTime now) {
  const std::lock_guard hold(lock_);
  forget_old(now);
  if (by_address_.size() >= kAddresses && !by_address_.contains(address)) return true;
  auto& times = by_address_[address];
  if (times.size() >= kFailures) return false;
  times.push_back(now);
  return true;
}

void FailedCallers::forget_old(UtcTime now) {
  for (auto entry = by_address_.begin(); entry != by_address_.end();) {
    auto& times = entry->second;
    while (!times.empty() && times.front() + kWithin <= now) times.pop_front();
    entry = times.empty() ? by_address_.erase(entry) : std::next(entry);
  }
}

}  // namespace hakea::service
