#include "service/input/deliver_config.h"

#include <fmt/format.h>

#include <array>

#include "service/input/json.h"
#include "service/input/subscription_json.h"

namespace hakea::service {
namespace {

std::string file_beside(TomlTable& table, std::string_view key, const std::filesystem::path& beside) {
  const auto name = table.text(key);
  if (!name || name->empty()) return "";
  std::string path = (beside / *name).lexically_normal().string();
  if (!std::filesystem::is_regular_file(path))
    table.refuse(key, "unreadable", fmt::format("there is no file {}", path), "name a file beside the configuration");
  return path;
}

bool is_this_machine(const std::string& host) { return host == "localhost" || host == "127.0.0.1" || host == "::1"; }

}  // namespace

core::RouteRules read_alert_rules(const toml::node& node, const std::string& path, Errors& mistakes) {
  TomlTable table(node, "alerts", path, mistakes);
  core::RouteRules rules;
  if (const auto minutes = table.whole_number("escalate_after_min", 5, 24 * 60))
    rules.escalate_after = std::chrono::minutes(*minutes);
  if (const auto minutes = table.whole_number("cooldown_min", 0, 24 * 60)) rules.cooldown = std::chrono::minutes(*minutes);
  table.refuse_unknown_keys();
  return rules;
}

WebhookSettings read_webhooks(const toml::node& node, const std::string& path, const std::filesystem::path& beside,
                              Errors& mistakes) {
  TomlTable table(node, "webhooks", path, mistakes);
  WebhookSettings webhooks;
  for (const std::string& text : table.texts("allow_networks"))
    if (const auto network = parse_network(text))
      webhooks.allowed.push_back(*network);
    else
      table.refuse("allow_networks", "not_a_network", fmt::format("\"{}\" is no network", text),
                   "write one such as 10.20.0.0/16");
  if (const toml::node* ports = table.find("ports")) {
    webhooks.ports.clear();
    const toml::array* list = ports->as_array();
    for (std::size_t i = 0; list && i < list->size(); ++i) {
      const auto port = list->get(i)->value<std::int64_t>().value_or(0);
      if (port < 1 || port > 65535)
        table.refuse("ports", "out_of_range", "a port is no number from 1 to 65535", "write ports such as [443, 8443]");
      webhooks.ports.push_back(static_cast<int>(port));
    }
    if (webhooks.ports.empty())
      table.refuse("ports", "wrong_kind", "ports is no list of numbers", "write ports such as [443, 8443]");
  }
  webhooks.ca_file = file_beside(table, "ca_file", beside);
  table.refuse_unknown_keys();
  return webhooks;
}

MailSettings read_mail(const toml::node& node, const std::string& path, const std::filesystem::path& beside, Errors& mistakes) {
  TomlTable table(node, "mail", path, mistakes);
  MailSettings mail;
  mail.host = table.text("host").value_or("");
  if (mail.host.empty() || mail.host.find_first_of("/@ \t") != std::string::npos)
    table.refuse("host", "required", fmt::format("\"{}\" is no host", mail.host), "name the relay, such as relay.shire.example");
  constexpr std::array<std::string_view, 3> kTls{"starttls", "implicit", "none"};
  if (const auto tls = table.word("tls", kTls)) mail.tls = static_cast<MailSettings::Tls>(*tls);
  if (mail.tls == MailSettings::Tls::none && !is_this_machine(mail.host))
    table.refuse("tls", "not_encrypted", "mail would leave this machine unencrypted", "write starttls or implicit");
  mail.port =
      static_cast<int>(table.whole_number("port", 1, 65535).value_or(mail.tls == MailSettings::Tls::implicit ? 465 : 587));
  mail.from = table.text("from").value_or("");
  if (const std::string why = wrong_address(mail.from); !why.empty())
    table.refuse("from", "not_an_address", fmt::format("\"{}\": {}", mail.from, why), "write the address that mails come from");
  mail.name = table.text("name").value_or(mail.name);
  if (mail.name.find_first_of("<>\"@,;:\r\n") != std::string::npos)
    table.refuse("name", "not_a_name", "the name holds a letter with a meaning in mail headers", "write words only");
  mail.origin = table.text("origin").value_or("");
  const std::size_t host = mail.origin.find("://");
  if (!mail.origin.starts_with("http") || host == std::string::npos ||
      mail.origin.find_first_of("/ \t\r\n<>", host + 3) != std::string::npos)
    table.refuse("origin", "not_an_origin", fmt::format("\"{}\" is no origin", mail.origin),
                 "write where people reach this service, such as https://burns.example: they unsubscribe there");
  mail.user = table.text("user").value_or("");
  if (const std::string file = file_beside(table, "password_file", beside); !file.empty()) {
    if (const auto text = read_text_file(file))
      mail.password = text->substr(0, text->find_first_of("\r\n"));
    else
      mistakes.insert(mistakes.end(), text.errors().begin(), text.errors().end());
  }
  if (mail.user.empty() != mail.password.empty())
    table.refuse("user", "required", "a user without a password, or a password without a user",
                 "give user and password_file, or neither");
  mail.ca_file = file_beside(table, "ca_file", beside);
  table.refuse_unknown_keys();
  return mail;
}

}  // namespace hakea::service
