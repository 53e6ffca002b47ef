// Sending an e-mail to a relay (RFC 6409), with TLS unless the operator says otherwise.
#pragma once

#include <string>
#include <vector>

#include "core/base/time.h"
#include "service/deliver/attempt.h"
#include "service/deliver/settings.h"

namespace hakea::service {

struct MailMessage {
  std::string to, subject, text, html;
  std::string id;                    // left of the @ of its Message-ID
  std::vector<std::string> threads;  // left of the @ of what it refers to: the first is what it answers
  std::string list;                  // what the messages are about, for List-Id: letters, digits and dots
  std::string unsubscribe_url;       // acts on a POST alone (RFC 8058); empty: none
};

// Text first, then the same as HTML. Takes 30 s at most.
Attempt send_mail(const MailMessage& message, const MailSettings& settings, UtcTime now);

// A header value that cannot end its line, in RFC 2047's words where it is not ASCII.
std::string header_text(std::string_view text);

}  // namespace hakea::service
