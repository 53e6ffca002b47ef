// The part of the configuration that says how callers prove who they are: [auth] and [auth.oidc].
#pragma once

#include <filesystem>
#include <string>

#include "service/access/settings.h"
#include "service/input/toml_table.h"

namespace hakea::service {

// Mistakes are added. Files stand beside the configuration; a key file is read, a URL is not.
AccessSettings read_access(const toml::node& node, const std::string& path, const std::filesystem::path& beside,
                           Errors& mistakes);

// An origin as browsers write it: scheme and host, a port that is not the scheme's own, nothing behind.
bool is_origin(std::string_view text);

}  // namespace hakea::service
