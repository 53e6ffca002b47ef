// The part of the configuration that says how alerts are decided and how they leave: [alerts], [webhooks] and [mail].
#pragma once

#include <filesystem>
#include <string>

#include "core/alert/route.h"
#include "service/deliver/settings.h"
#include "service/input/toml_table.h"

namespace hakea::service {

// Mistakes are added. Files stand beside the configuration.
core::RouteRules read_alert_rules(const toml::node& node, const std::string& path, Errors& mistakes);
WebhookSettings read_webhooks(const toml::node& node, const std::string& path, const std::filesystem::path& beside,
                              Errors& mistakes);
MailSettings read_mail(const toml::node& node, const std::string& path, const std::filesystem::path& beside, Errors& mistakes);

}  // namespace hakea::service
