// Reading what people write as JSON: every mistake of a text is collected, each with its JSON pointer (RFC 6901).
//
// A JsonObject hands out its members by name and remembers which were asked for; what nobody asked for is refused by
// name when the object is done. Members that are null count as left out.
#pragma once

#include <boost/json.hpp>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "core/base/zone.h"

namespace hakea::service {

namespace json = boost::json;

// The document of a text, in the memory given if any. Error: `not_json`, with line and column.
Result<json::value> parse_json(std::string_view text, const std::string& name_for_messages, json::storage_ptr memory = {});

// Whole contents of a file. Error: `unreadable`.
Result<std::string> read_text_file(const std::string& path);

// Adds a name to a JSON pointer, escaped.
std::string pointer_to(const std::string& parent, std::string_view name);
std::string pointer_to(const std::string& parent, std::size_t index);

// How a value reads in a message: at most 40 letters of its JSON.
std::string shown(const json::value& value);

struct NumberBounds {
  double lowest = -std::numeric_limits<double>::infinity(), highest = std::numeric_limits<double>::infinity();
};

class JsonObject {
 public:
  // Not an object: a mistake, and the object acts as empty.
  JsonObject(const json::value& value, std::string pointer, Errors& mistakes);

  const std::string& pointer() const { return pointer_; }
  std::string at(std::string_view name) const { return pointer_to(pointer_, name); }
  Errors& mistakes() { return *mistakes_; }

  // The member, or null when it is absent or null.
  const json::value* find(std::string_view name);
  bool has(std::string_view name) { return find(name) != nullptr; }
  // Members that may stand there and are not read.
  void ignore(std::initializer_list<std::string_view> names) { known_.insert(known_.end(), names.begin(), names.end()); }

  // Of the kind named, or nothing; a member of another kind or outside the bounds is a mistake.
  std::optional<double> number(std::string_view name, NumberBounds bounds = {});
  std::optional<int> whole_number(std::string_view name, int lowest, int highest);
  std::optional<std::string> text(std::string_view name);
  std::optional<bool> yes_or_no(std::string_view name);
  const json::array* list(std::string_view name);
  // The index of a word in the list of known ones; an unknown one is a mistake with the nearest known one.
  std::optional<std::size_t> word(std::string_view name, std::span<const std::string_view> known);
  std::optional<LocalDate> date(std::string_view name);
  std::optional<ClockTime> clock(std::string_view name);
  std::optional<UtcTime> instant(std::string_view name);

  // Says that a member is required when it is absent; true when present.
  bool require(std::string_view name, std::string hint);
  void refuse(std::string_view name, std::string code, std::string what, std::string hint = {});
  // Refuses, by name, every member that was not asked for.
  void refuse_unknown_members();

 private:
  const json::object* object_ = nullptr;
  std::string pointer_;
  Errors* mistakes_;
  std::vector<std::string> known_;  // every name that was asked for, as often as it was
};

// RFC 3339 with an offset. Errors: `not_a_time`, `no_offset`.
Result<UtcTime> parse_instant(std::string_view text);
// YYYY-MM-DD, MM-DD and HH:MM (24:00 is allowed).
std::optional<LocalDate> parse_date(std::string_view text);
std::optional<std::chrono::month_day> parse_month_day(std::string_view text);
std::optional<ClockTime> parse_clock(std::string_view text);
// Digits alone, from `lowest` to `highest`.
std::optional<int> parse_whole_number(std::string_view text, int lowest, int highest);

// A member that is a text; empty for anything else.
std::string text_member(const json::value& document, std::string_view name);
std::string text_member(const json::object& object, std::string_view name);

}  // namespace hakea::service
