#include "service/output/json_text.h"

#include <charconv>
#include <cmath>

#include "service/output/json_writer.h"

namespace hakea::service {
namespace {

namespace json = boost::json;

void append(std::string& text, const json::value& value) {
  if (value.is_double()) {
    char digits[32];
    text.append(digits, std::to_chars(digits, digits + sizeof digits, value.get_double()).ptr);
  } else if (value.is_array()) {
    text += '[';
    for (const json::value& item : value.get_array()) {
      if (text.back() != '[') text += ',';
      append(text, item);
    }
    text += ']';
  } else if (value.is_object()) {
    text += '{';
    for (const auto& member : value.get_object()) {
      if (text.back() != '{') text += ',';
      text += JsonWriter().text(member.key()).str();
      text += ':';
      append(text, member.value());
    }
    text += '}';
  } else {
    text += json::serialize(value);
  }
}

// What stands between the braces.
std::string_view inside(std::string_view object) {
  constexpr std::string_view kBlanks = " \t\r\n";
  object.remove_prefix(std::min(object.find_first_of('{') + 1, object.size()));
  object = object.substr(0, object.find_last_of('}'));
  object.remove_prefix(std::min(object.find_first_not_of(kBlanks), object.size()));
  return object.substr(0, object.find_last_not_of(kBlanks) + 1);
}

}  // namespace

std::string json_text(const json::value& value) {
  std::string text;
  append(text, value);
  return text;
}

std::string joined_objects(std::string_view first, std::string_view second) {
  const std::string_view a = inside(first), b = inside(second);
  std::string text = "{";
  ((text += a) += a.empty() || b.empty() ? "" : ",") += b;
  return text += '}';
}

}  // namespace hakea::service
