// From events to what is sent of them: the subject and both bodies of a mail, the body of a webhook.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "service/deliver/mail.h"
#include "service/store/alert_store.h"

namespace hakea::service {

// Without recipient, id and unsubscribing.
MailMessage letter(const std::vector<EventRow>& events, bool is_escalation, std::string_view origin);

// One event as a CloudEvent; several as a batch of them.
struct WebhookBody {
  std::string body, content_type;
};
WebhookBody webhook_body(const std::vector<EventRow>& events, std::string_view origin);

}  // namespace hakea::service
