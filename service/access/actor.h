// Who does something: every write names its actor and leaves an audit row.
#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <string_view>

namespace hakea::service {

enum class Role : std::uint8_t { viewer, officer, coordinator, operator_ };  // each may do what those before it may
std::string_view word(Role role);                                            // "operator" for the last
std::optional<Role> role_of(std::string_view word);

struct Actor {
  std::string name;        // as people know them, or of the token
  std::string token_id;    // empty for the demo's loopback caller and the command line
  std::string address;     // the caller's network address, empty for the command line
  std::string request_id;  // echoed in the answer
  Role role = Role::viewer;
  std::set<std::string> districts;  // empty: all
};

}  // namespace hakea::service
