#include "service/output/paragraph.h"

#include <algorithm>

namespace hakea::service {

std::size_t letters(std::string_view text) {
  // Bytes that continue a letter take no column.
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

std::string paragraph(std::string_view text, std::size_t indent, std::string_view begin) {
  std::string lines(begin);
  lines.append(indent - std::min(indent, letters(begin)), ' ');
  std::size_t column = indent;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (word.empty()) continue;
    if (column > indent && column + 1 + letters(word) > kPageWidth) {
      (lines += '\n').append(indent, ' ');
      column = indent;
    } else if (column > indent) {
      lines += ' ';
      ++column;
    }
    lines += word;
    column += letters(word);
  }
  return lines + "\n";
}

}  // namespace hakea::service
