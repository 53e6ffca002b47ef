// How far a long call is: one line of standard error, written over, and what it took at the end. On a terminal only.
#pragma once

#include <string>
#include <string_view>
#include <utility>

namespace hakea::service {

class TerminalLine {
 public:
  TerminalLine();
  TerminalLine(TerminalLine&& other) noexcept : is_on_(other.is_on_), shown_(std::exchange(other.shown_, {})) {}
  TerminalLine& operator=(TerminalLine&&) = delete;
  ~TerminalLine() { clear(); }

  // "reading 2027-03-29T12:00:00Z  42 %"; written again when the percentage has changed.
  void show(std::string_view doing, double share);
  // Takes the line away, before anything else is printed there.
  void clear();
  // A line that stays.
  void leave(std::string_view text);

 private:
  bool is_on_ = false;
  std::string shown_;
};

}  // namespace hakea::service
