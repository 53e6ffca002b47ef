// Who does something: every write names its actor and leaves an audit row.
#pragma once

#include <optional>
#include <set>
#include <string>

#include "service/access/scopes.h"

namespace hakea::service {

struct Actor {
  std::string name;        // as people know them, or of the token
  std::string token_id;    // "oidc:SUBJECT" at the identity provider; empty for the demo's loopback caller, anonymous readers and
                           // the command line
  std::string address;     // the caller's network address, empty for the command line
  std::string request_id;  // echoed in the answer
  Role role = Role::viewer;
  std::set<std::string> districts{};     // read and write these alone; empty: all
  std::set<std::string> units{};         // write these alone; empty: all of the districts
  std::optional<Scopes> scopes{};        // these alone; none: all of the role
  std::optional<std::string> session{};  // hash of the page session it comes by

  bool may(Scope scope) const { return (scopes ? *scopes : scopes_of(role)).contains(scope); }
  bool may_write_unit(const std::string& unit) const { return units.empty() || units.contains(unit); }
};

}  // namespace hakea::service
