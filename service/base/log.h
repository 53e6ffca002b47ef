// The service's log: lines on standard error, JSON for machines or plain for people. Write to it by spdlog's functions.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <string>
#include <string_view>

#include "core/base/result.h"

namespace hakea::service {

enum class LogLines : std::uint8_t { json, plain };
void start_log(LogLines lines);

struct LogMember {
  LogMember(std::string_view member, std::string_view text);
  LogMember(std::string_view member, long long number);
  std::string json;  // "name":value
};

// What every line of this thread carries while this lives: members of the JSON line, beside time, level and message. Texts are
// put in as they are handed in, so nobody hands in a secret.
class LogContext {
 public:
  LogContext(std::initializer_list<LogMember> members);
  ~LogContext();
  LogContext(const LogContext&) = delete;
  LogContext& operator=(const LogContext&) = delete;

 private:
  std::size_t before_;
};

// One line an error, with what to do.
void log_errors(std::string_view about, const Errors& errors);

}  // namespace hakea::service
