#include "service/input/access_config.h"

#include <fmt/format.h>

#include "service/access/key_fetch.h"
#include "service/access/key_set.h"

namespace hakea::service {
namespace {

std::string required(TomlTable& table, std::string_view key, std::string hint) {
  const auto text = table.text(key);
  if (text && !text->empty()) return *text;
  table.refuse(key, "required", fmt::format("{} is needed", key), std::move(hint));
  return {};
}

std::map<std::string, Role> read_roles(TomlTable& oidc, const std::string& path, Errors& mistakes) {
  std::map<std::string, Role> roles;
  const toml::node* node = oidc.find("roles");
  if (!node) {
    oidc.refuse("roles", "required", "roles are needed",
                R"(write [auth.oidc.roles] and, below, what stands in the claim = "viewer" …)");
    return roles;
  }
  TomlTable table(*node, "auth.oidc.roles", path, mistakes);
  if (const toml::table* named = node->as_table())
    for (const auto& [key, value] : *named)
      if (const auto role = table.word(key.str(), role_words())) roles.emplace(key.str(), static_cast<Role>(*role));
  return roles;
}

OidcSettings read_oidc(const toml::node& node, const std::string& path, const std::filesystem::path& beside, Errors& mistakes) {
  TomlTable table(node, "auth.oidc", path, mistakes);
  OidcSettings oidc;
  oidc.issuer = required(table, "issuer", "write the provider's `iss`, to the letter");
  oidc.audience = required(table, "audience", "write what the provider puts into `aud` for this service");
  oidc.keys = required(table, "keys", "write the file or the https URL of the provider's JWKS");
  if (is_url(oidc.keys)) {
    if (std::string why = wrong_url(oidc.keys); !why.empty())
      table.refuse("keys", "not_https", fmt::format("{}: {}", oidc.keys, why), "write an https URL, or keep the keys in a file");
  } else if (!oidc.keys.empty()) {
    oidc.keys = (beside / oidc.keys).lexically_normal().string();
    const auto text = fetch_keys(oidc.keys);
    const auto keys = text ? parse_keys(*text, oidc.keys) : Result<std::vector<NamedKey>>(text.errors());
    if (!keys) mistakes.insert(mistakes.end(), keys.errors().begin(), keys.errors().end());
  }
  oidc.role_claim = table.text("role_claim").value_or(oidc.role_claim);
  oidc.name_claim = table.text("name_claim").value_or(oidc.name_claim);
  oidc.districts_claim = table.text("districts_claim").value_or("");
  oidc.units_claim = table.text("units_claim").value_or("");
  oidc.roles = read_roles(table, path, mistakes);
  table.refuse_unknown_keys();
  return oidc;
}

}  // namespace

bool is_origin(std::string_view text) {
  const std::size_t host = text.starts_with("https://") ? 8 : text.starts_with("http://") ? 7 : 0;
  return host > 0 && text.size() > host && text.find_first_of("/?#* \t@", host) == std::string_view::npos;
}

AccessSettings read_access(const toml::node& node, const std::string& path, const std::filesystem::path& beside,
                           Errors& mistakes) {
  TomlTable table(node, "auth", path, mistakes);
  AccessSettings access;
  access.anonymous_read = table.yes_or_no("anonymous_read").value_or(false);
  if (const auto origin = table.text("origin")) {
    if (!origin->empty() && !is_origin(*origin))
      table.refuse("origin", "not_an_origin", fmt::format("\"{}\" is no origin", *origin),
                   "write scheme and host as the browser shows them, such as https://burns.example");
    access.origin = *origin;
  }
  if (const toml::node* oidc = table.find("oidc")) access.oidc = read_oidc(*oidc, path, beside, mistakes);
  table.refuse_unknown_keys();
  return access;
}

}  // namespace hakea::service
