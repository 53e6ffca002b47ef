#include "service/access/scopes.h"

#include <algorithm>
#include <array>
#include <utility>

namespace hakea::service {
namespace {

constexpr std::array<std::string_view, 4> kRoleWords{"viewer", "officer", "coordinator", "operator"};
constexpr std::array<std::string_view, 9> kScopeWords{"read",        "observations:write", "stops:write",
                                                      "plans:write", "units:write",        "subscriptions:write",
                                                      "audit:read",  "tokens:write",       "service:write"};

// Who writes what stands below the first segment of a path.
constexpr std::array<std::pair<std::string_view, Scope>, 15> kWrites{{
    {"observations", Scope::observations},
    {"outcomes", Scope::observations},
    {"stops", Scope::stops},
    {"bookings", Scope::plans},
    {"plan", Scope::plans},
    {"demo", Scope::plans},
    {"units", Scope::units},
    {"districts", Scope::units},
    {"subscriptions", Scope::subscriptions},
    {"calendars", Scope::subscriptions},
    {"deliveries", Scope::subscriptions},
    {"events", Scope::subscriptions},
    {"tokens", Scope::tokens},
    {"feeds", Scope::service},
    {"session", Scope::read},  // ends one's own
}};

std::size_t place(Role role) { return static_cast<std::size_t>(role); }

}  // namespace

std::string_view word(Role role) { return kRoleWords.at(place(role)); }

std::optional<Role> role_of(std::string_view word) {
  const auto found = std::find(kRoleWords.begin(), kRoleWords.end(), word);
  if (found == kRoleWords.end()) return std::nullopt;
  return static_cast<Role>(found - kRoleWords.begin());
}

std::span<const std::string_view> role_words() { return kRoleWords; }

std::string_view word(Scope scope) { return kScopeWords.at(static_cast<std::size_t>(scope)); }

std::optional<Scope> scope_of(std::string_view word) {
  const auto found = std::find(kScopeWords.begin(), kScopeWords.end(), word);
  if (found == kScopeWords.end()) return std::nullopt;
  return static_cast<Scope>(found - kScopeWords.begin());
}

std::span<const std::string_view> scope_words() { return kScopeWords; }

const Scopes& scopes_of(Role role) {
  using enum Scope;
  static const std::array<Scopes, kRoleWords.size()> kOfRole{{
      {read},
      {read, observations, stops, plans, subscriptions},
      {read, observations, stops, plans, units, subscriptions, audit},
      {read, subscriptions, audit, tokens, service},
  }};
  return kOfRole.at(place(role));
}

Scope scope_of_operation(std::string_view method, std::string_view path, Role least) {
  path.remove_prefix(std::min<std::size_t>(1, path.size()));
  const std::string_view first = path.substr(0, path.find('/'));
  if (first == "audit") return Scope::audit;
  if (first == "tokens") return Scope::tokens;
  if (method == "GET" || method == "HEAD" || least == Role::viewer) return Scope::read;
  const auto found = std::find_if(kWrites.begin(), kWrites.end(), [&](const auto& row) { return row.first == first; });
  return found == kWrites.end() ? Scope::service : found->second;
}

}  // namespace hakea::service
