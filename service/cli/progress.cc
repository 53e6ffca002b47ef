#include "service/cli/progress.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>

namespace hakea::service {
namespace {
constexpr const char* kWipe = "\r\x1b[K";  // to the start of the line, and clear it (ECMA-48 EL)
}

TerminalLine::TerminalLine() : is_on_(::isatty(STDERR_FILENO) == 1) {}

void TerminalLine::show(std::string_view doing, double share) {
  if (!is_on_) return;
  std::string line = fmt::format("{}  {:.0f} %", doing, share * 100);
  if (line == shown_) return;
  fmt::print(stderr, "{}{}", kWipe, line);
  std::fflush(stderr);
  shown_ = std::move(line);
}

void TerminalLine::clear() {
  if (shown_.empty()) return;
  fmt::print(stderr, "{}", kWipe);
  std::fflush(stderr);
  shown_.clear();
}

void TerminalLine::leave(std::string_view text) {
  if (!is_on_) return;
  clear();
  fmt::print(stderr, "{}\n", text);
}

}  // namespace hakea::service
