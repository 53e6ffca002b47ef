// A subscription as people write it: what somebody wants to be told of, and where.
//
//   {"channel":{"kind":"email","address":"…"} | {"kind":"webhook","url":"https://…"},
//    "events":["window.*","open_burn.danger.v1"],"units":[…],"districts":[…],"confidence":["firm","likely"],
//    "lead":{"min":"PT6H","max":"PT96H"},"quiet":{"from":"21:00","to":"05:30","time_zone":"Australia/Sydney"},
//    "batch":"PT15M","daily_cap":20,"grouped":true,"escalation":false,"paused":false,"note":"…"}
#pragma once

#include <string>
#include <string_view>

#include "core/alert/route.h"
#include "service/input/json.h"

namespace hakea::service {

struct SubscriptionEntry {
  enum class Channel : std::uint8_t { email, webhook } channel = Channel::email;
  std::string target;  // address or URL
  bool is_paused = false;
  core::Subscription wants;  // without id
};
std::string_view word(SubscriptionEntry::Channel channel);

// All mistakes together, with pointers. `usual_zone` is that of who names none for the quiet hours.
Result<SubscriptionEntry> parse_subscription(const json::value& document, const TimeZone& usual_zone);
// From the body of an entry, which also names its owner.
Result<SubscriptionEntry> stored_subscription(std::string_view body, const TimeZone& usual_zone);

// Why an address or URL cannot be one; empty for a good one. Of a URL: https, a host, no user and no fragment.
std::string wrong_address(std::string_view address);
std::string wrong_webhook_url(std::string_view url);

// ISO 8601 of whole hours, minutes and seconds: PT36H, PT15M; and days: P2D.
std::optional<std::chrono::seconds> parse_duration(std::string_view text);
std::string duration_text(std::chrono::seconds duration);  // PT50H, PT15M

}  // namespace hakea::service
