// This program started a second time as a reader: a request goes in, framed messages come out.
//
// The parent trusts nothing: a message has a kind and a bounded length, silence has an end, and the child dies with the
// parent. The messages go through a pipe, since a pipe ends when the child does, whatever it was doing.
#pragma once

#include <sys/types.h>

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "core/base/result.h"
#include "ingest/format/unset.h"

namespace hakea::ingest {

struct Message {
  std::uint32_t kind = 0;
  std::string_view bytes;  // until the next message is asked for
};

class Child {
 public:
  // Starts /proc/self/exe with the one argument `command`.
  static Result<Child> start(const std::string& command, const std::string& request);
  Child(Child&& other) noexcept;
  Child& operator=(Child&&) = delete;
  ~Child();  // ends the child

  // The next message. Nullopt when there is none: see end() for why.
  std::optional<Message> next(int seconds_of_silence);
  // How the child ended, in words: "crashed (segmentation fault)", "gave no sign of life for 600 s", …
  std::string end();

 private:
  Child(pid_t process, int pipe) : process_(process), pipe_(pipe) {}
  bool read(void* to, std::size_t bytes, int seconds);

  pid_t process_ = -1;
  int pipe_ = -1;
  Unset<char> buffer_;   // for the longest message so far
  std::string trouble_;  // why the parent stopped listening
};

// The child's side.
struct ChildLimits {
  int cpu_seconds = 0;
  std::size_t memory_mb = 0;
};
std::string receive_request();
void bound_myself(const ChildLimits& limits);  // also: die with the parent, leave no core
// A message of these bytes, and of the values after them.
void send(std::uint32_t kind, std::string_view bytes, std::span<const float> values = {});

}  // namespace hakea::ingest
