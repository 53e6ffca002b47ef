// The tables of config/ as they were when the program was built.
#pragma once

#include <string_view>

namespace hakea::service {

// The text of a table by its path in config/ ("fuels.toml", "demo/story.csv"); empty when there is none.
std::string_view built_in_table(std::string_view path);

}  // namespace hakea::service
