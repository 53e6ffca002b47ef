#include "service/http/known_callers.h"

#include "service/base/content_hash.h"

namespace hakea::service {
namespace {

std::string key_of(const KnownCallers::Shown& shown) {
  return content_hash((shown.is_cookie ? "cookie\n" : "header\n") + std::string(shown.text));
}

}  // namespace

std::optional<Actor> KnownCallers::find(const Shown& shown, UtcTime now) const {
  const std::string key = key_of(shown);
  const std::lock_guard hold(lock_);
  const auto known = callers_.find(key);
  if (now != second_ || known == callers_.end()) return std::nullopt;
  return known->second;
}

std::uint64_t KnownCallers::endings() const {
  const std::lock_guard hold(lock_);
  return endings_;
}

void KnownCallers::keep(const Shown& shown, const Actor& actor, UtcTime now, std::uint64_t endings) {
  std::string key = key_of(shown);
  const std::lock_guard hold(lock_);
  if (endings != endings_) return;
  if (now != second_) callers_.clear();
  second_ = now;
  callers_.insert_or_assign(std::move(key), actor);
}

void KnownCallers::forget(const Shown& shown) {
  const std::string key = key_of(shown);
  const std::lock_guard hold(lock_);
  ++endings_;
  callers_.erase(key);
}

void KnownCallers::forget() {
  const std::lock_guard hold(lock_);
  ++endings_;
  callers_.clear();
}

}  // namespace hakea::service
