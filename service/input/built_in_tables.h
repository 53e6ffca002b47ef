// The tables of config/ as they were when the program was built.
#pragma once

#include <string_view>

namespace hakea::service {

// The text of a table by its file name; empty when there is none of that name.
std::string_view built_in_table(std::string_view file_name);

}  // namespace hakea::service
