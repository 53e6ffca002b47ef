// The service's log: lines on standard error, JSON for machines or plain for people. Write to it by spdlog's functions.
#pragma once

#include <cstdint>
#include <string_view>

#include "core/base/result.h"

namespace hakea::service {

enum class LogLines : std::uint8_t { json, plain };
void start_log(LogLines lines);

// One line an error, with what to do.
void log_errors(std::string_view about, const Errors& errors);

}  // namespace hakea::service
