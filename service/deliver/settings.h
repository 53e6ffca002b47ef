// How messages leave: [webhooks] and [mail] of the configuration.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/deliver/address_guard.h"

namespace hakea::service {

struct WebhookSettings {
  std::vector<Network> allowed;     // private networks that may be reached all the same
  std::vector<int> ports{443};
  std::string ca_file;              // of certificates beside the system's; empty: none
  bool operator==(const WebhookSettings&) const = default;
};

struct MailSettings {
  enum class Tls : std::uint8_t { starttls, implicit, none } tls = Tls::starttls;
  std::string host;
  int port = 587;
  std::string from;  // the address alone
  std::string name = "Burn windows";
  std::string user, password;
  std::string ca_file;
  bool operator==(const MailSettings&) const = default;
};

struct DeliverSettings {
  WebhookSettings webhooks;
  std::optional<MailSettings> mail;  // none: e-mail is not offered
  bool operator==(const DeliverSettings&) const = default;
};

}  // namespace hakea::service
