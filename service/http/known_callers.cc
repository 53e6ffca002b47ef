#include "service/http/known_callers.h"

#include "service/base/content_hash.h"

namespace hakea::service {

std::optional<Actor> KnownCallers::find(std::string_view shown, UtcTime now) const {
  const std::string hash = content_hash(shown);
  const std::lock_guard hold(lock_);
  const auto known = callers_.find(hash);
  if (now != second_ || known == callers_.end()) return std::nullopt;
  return known->second;
}

void KnownCallers::keep(std::string_view shown, const Actor& actor, UtcTime now) {
  std::string hash = content_hash(shown);
  const std::lock_guard hold(lock_);
  if (now != second_) callers_.clear();
  second_ = now;
  callers_.insert_or_assign(std::move(hash), actor);
}

void KnownCallers::forget(std::string_view shown) {
  const std::string hash = content_hash(shown);
  const std::lock_guard hold(lock_);
  callers_.erase(hash);
}

void KnownCallers::forget() {
  const std::lock_guard hold(lock_);
  callers_.clear();
}

}  // namespace hakea::service
