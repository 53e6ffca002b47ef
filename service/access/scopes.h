// What a caller may do, in words to which a token can be narrowed (the scope values of RFC 6750).
#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <span>
#include <string_view>

namespace hakea::service {

enum class Role : std::uint8_t { viewer, officer, coordinator, operator_ };
std::string_view word(Role role);  // "operator" for the last
std::optional<Role> role_of(std::string_view word);
std::span<const std::string_view> role_words();

enum class Scope : std::uint8_t { read, observations, stops, plans, units, subscriptions, audit, tokens, service };
std::string_view word(Scope scope);  // "read", "observations:write", …
std::optional<Scope> scope_of(std::string_view word);
std::span<const std::string_view> scope_words();

using Scopes = std::set<Scope>;

// An officer observes and proposes, a coordinator decides, an operator looks after the service and decides nothing about burns.
const Scopes& scopes_of(Role role);

// What an operation of the interface takes, by its method and its path below /api/v1. One that anybody who reads may call
// stores nothing, whatever its method. A write nobody has entered in the table is the operator's alone.
Scope scope_of_operation(std::string_view method, std::string_view path, Role least);

}  // namespace hakea::service
