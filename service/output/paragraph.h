// Text for people, broken into lines.
#pragma once

#include <string>
#include <string_view>

namespace hakea::service {

inline constexpr std::size_t kPageWidth = 100;

// Letters of UTF-8: the columns that a text takes.
std::size_t letters(std::string_view text);

// Breaks a text at blanks into lines of at most kPageWidth letters, each indented and ended. `begin` stands at the head of the
// first line, in the room of its indent.
std::string paragraph(std::string_view text, std::size_t indent, std::string_view begin = {});

}  // namespace hakea::service
