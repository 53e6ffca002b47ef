// JSON text, written front to back. Numbers are float32 in the shortest decimal that reads back as the same float32
// (INTERFACE §1); a missing one is null.
#pragma once

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <string>
#include <string_view>

namespace hakea::service {

class JsonWriter {
 public:
  JsonWriter& begin_object() { return open('{'); }
  JsonWriter& end_object() { return close('}'); }
  JsonWriter& begin_list() { return open('['); }
  JsonWriter& end_list() { return close(']'); }
  JsonWriter& key(std::string_view name) {
    text(name);
    text_ += ':';
    needs_comma_ = false;
    return *this;
  }

  JsonWriter& text(std::string_view value) {
    separate();
    if (const bool is_plain = std::none_of(value.begin(), value.end(), needs_escape); is_plain) {
      // Nearly all are: put in at one go.
      const std::size_t at = text_.size();
      text_.append(value.size() + 2, '"');
      value.copy(text_.data() + at + 1, value.size());
      return *this;
    }
    text_ += '"';
    for (const char c : value)
      if (needs_escape(c))
        append_escaped(c);
      else
        text_ += c;
    text_ += '"';
    return *this;
  }
  JsonWriter& number(double value) {
    separate();
    const auto rounded = static_cast<float>(value);
    if (!std::isfinite(rounded)) {
      text_ += "null";
    } else {
      char digits[32];
      text_.append(digits, std::to_chars(digits, digits + sizeof digits, rounded == 0 ? 0.0F : rounded).ptr);
    }
    return *this;
  }
  JsonWriter& whole(long long value) {
    separate();
    text_ += std::to_string(value);
    return *this;
  }
  JsonWriter& yes_or_no(bool value) {
    separate();
    text_ += value ? "true" : "false";
    return *this;
  }
  JsonWriter& null() {
    separate();
    text_ += "null";
    return *this;
  }

  // A value that is JSON already.
  JsonWriter& raw(std::string_view json) {
    separate();
    text_ += json;
    return *this;
  }

  // Members of an object.
  JsonWriter& text(std::string_view name, std::string_view value) { return key(name).text(value); }
  JsonWriter& number(std::string_view name, double value) { return key(name).number(value); }
  JsonWriter& tenths(std::string_view name, double value) { return number(name, std::round(value * 10) / 10); }
  JsonWriter& whole(std::string_view name, long long value) { return key(name).whole(value); }
  JsonWriter& yes_or_no(std::string_view name, bool value) { return key(name).yes_or_no(value); }
  JsonWriter& null(std::string_view name) { return key(name).null(); }
  // A list of texts.
  template <class Texts>
  JsonWriter& texts(std::string_view name, const Texts& values) {
    key(name).begin_list();
    for (const auto& value : values) text(value);
    return end_list();
  }
  // Null where there is nothing.
  JsonWriter& text_or_null(std::string_view name, std::string_view value) {
    return value.empty() ? null(name) : text(name, value);
  }
  JsonWriter& number_or_null(std::string_view name, std::optional<double> value) {
    return value ? number(name, *value) : null(name);
  }

  const std::string& str() const { return text_; }
  // Lets go of what has been written elsewhere; what follows continues it.
  void forget() { text_.clear(); }

 private:
  void separate() {
    if (needs_comma_) text_ += ',';
    needs_comma_ = true;
  }
  JsonWriter& open(char bracket) {
    separate();
    text_ += bracket;
    needs_comma_ = false;
    return *this;
  }
  JsonWriter& close(char bracket) {
    text_ += bracket;
    needs_comma_ = true;
    return *this;
  }
  static bool needs_escape(char c) { return c == '"' || c == '\\' || static_cast<unsigned char>(c) < 0x20; }
  void append_escaped(char c) {
    constexpr std::string_view kHex = "0123456789abcdef";
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\')
      (text_ += '\\') += c;
    else if (c == '\n')
      text_ += "\\n";
    else if (c == '\t')
      text_ += "\\t";
    else
      ((text_ += "\\u00") += kHex[byte >> 4]) += kHex[byte & 15];
  }

  std::string text_;
  bool needs_comma_ = false;
};

}  // namespace hakea::service
