#include "service/http/rate_limit.h"

#include <fmt/format.h>

namespace hakea::service {
namespace {

constexpr std::size_t kCallers = 10000;  // remembered at most
constexpr std::string_view kRatePolicy = "default";

}  // namespace

RateLimit::Left RateLimit::count(const std::string& caller, UtcTime now, const ApiSettings& settings) {
  const std::chrono::seconds length(settings.seconds);
  const std::lock_guard hold(lock_);
  const auto has_ended = [&](const Window& window) { return now >= window.begun + length || now < window.begun; };
  if (windows_.size() >= kCallers && !windows_.contains(caller)) {
    std::erase_if(windows_, [&](const auto& entry) { return has_ended(entry.second); });
    // So many at once are no callers of a service like this: new ones wait, known ones go on.
    if (windows_.size() >= kCallers) return {true, 0, settings.seconds};
  }
  Window& window = windows_[caller];
  if (has_ended(window)) window = {now, 0};
  const bool is_over = window.requests >= settings.requests;
  if (!is_over) ++window.requests;
  return {is_over, settings.requests - window.requests, static_cast<int>((window.begun + length - now).count())};
}

void say_rate_limit(Response& answer, const RateLimit::Left& left, const ApiSettings& settings) {
  answer.set_header("RateLimit-Policy", fmt::format("\"{}\";q={};w={}", kRatePolicy, settings.requests, settings.seconds));
  answer.set_header("RateLimit", fmt::format("\"{}\";r={};t={}", kRatePolicy, left.requests, left.seconds));
  if (left.is_over) answer.set_header("Retry-After", fmt::format("{}", left.seconds));
}

}  // namespace hakea::service
