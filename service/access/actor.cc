#include "service/access/actor.h"

#include <algorithm>
#include <array>

namespace hakea::service {
namespace {

constexpr std::array<std::string_view, 4> kRoleWords{"viewer", "officer", "coordinator", "operator"};

}  // namespace

std::string_view word(Role role) { return kRoleWords.at(static_cast<std::size_t>(role)); }

std::optional<Role> role_of(std::string_view word) {
  const auto found = std::find(kRoleWords.begin(), kRoleWords.end(), word);
  if (found == kRoleWords.end()) return std::nullopt;
  return static_cast<Role>(found - kRoleWords.begin());
}

}  // namespace hakea::service
