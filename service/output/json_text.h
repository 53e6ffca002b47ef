// Documents of JSON values back as text, and members put together. Numbers keep every digit and read as people write them
// (the library would print 25.0 as 2.5E1).
#pragma once

#include <boost/json.hpp>
#include <string>
#include <string_view>

namespace hakea::service {

std::string json_text(const boost::json::value& value);

// One object of the members of both: {"a":1} and {"b":2} give {"a":1,"b":2}. Both must be objects.
std::string joined_objects(std::string_view first, std::string_view second);

}  // namespace hakea::service
