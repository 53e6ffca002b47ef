// Sending a webhook: signed, to public addresses only, and without believing anything that comes back but its status.
#pragma once

#include <string>
#include <vector>

#include "core/base/time.h"
#include "service/deliver/attempt.h"
#include "service/deliver/settings.h"

namespace hakea::service {

struct WebhookMessage {
  std::string url, id, body, content_type;
  std::vector<std::string> secrets;
};

// At every attempt the host is looked up anew, every address of it has to be one that may be reached, and the connection goes to
// one of these and no other. No redirects, no proxy, https only. Takes 15 s at most.
Attempt send_webhook(const WebhookMessage& message, const WebhookSettings& settings, UtcTime now);

}  // namespace hakea::service
