#include "service/http/failed_callers.h"

namespace hakea::service {
namespace {

constexpr std::size_t kFailures = 10;
constexpr std::chrono::seconds kWithin{60};
constexpr std::size_t kAddresses = 10000;  // remembered at most

}  // namespace

bool FailedCallers::is_refused(const std::string& address, UtcTime now) {
  const std::lock_guard hold(lock_);
  forget_old(now);
  const auto found = by_address_.find(address);
  return found != by_address_.end() && found->second.size() >= kFailures;
}

void FailedCallers::add(const std::string& address, UtcTime now) {
  const std::lock_guard hold(lock_);
  forget_old(now);
  if (by_address_.size() >= kAddresses && !by_address_.contains(address)) return;
  by_address_[address].push_back(now);
}

void FailedCallers::forget_old(UtcTime now) {
  for (auto entry = by_address_.begin(); entry != by_address_.end();) {
    auto& times = entry->second;
    while (!times.empty() && times.front() + kWithin <= now) times.pop_front();
    entry = times.empty() ? by_address_.erase(entry) : std::next(entry);
  }
}

}  // namespace hakea::service
