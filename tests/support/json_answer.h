// What a daemon's answer holds.
#pragma once

#include <stdexcept>
#include <string>

#include "service/input/json.h"
#include "tests/support/raw_client.h"

namespace hakea::test {

// Throws with the answer unless it is 200 and JSON.
inline service::json::value document(const RawAnswer& answer) {
  auto parsed = service::parse_json(answer.body, "answer");
  if (answer.status != 200 || !parsed) throw std::runtime_error(std::to_string(answer.status) + " " + answer.head + answer.body);
  return *std::move(parsed);
}

inline std::string text(const service::json::value& value) { return std::string(value.as_string()); }

}  // namespace hakea::test
