#include "service/input/json.h"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>

#include "core/base/nearest.h"

namespace hakea::service {
namespace {

using namespace std::chrono;

std::string_view kind_of(const json::value& value) {
  switch (value.kind()) {
    case json::kind::null: return "null";
    case json::kind::bool_: return "true or false";
    case json::kind::int64:
    case json::kind::uint64:
    case json::kind::double_: return "a number";
    case json::kind::string: return "a text";
    case json::kind::array: return "a list";
    case json::kind::object: return "an object";
  }
  return "something else";
}

Error wrong_kind(std::string pointer, std::string_view wanted, const json::value& found) {
  return {ErrorKind::invalid, "wrong_kind", std::move(pointer),
          fmt::format("{} is {}, not {}", shown(found), kind_of(found), wanted), fmt::format("write {}", wanted)};
}

// Exactly `digits` decimal digits at the front of `text`, which they leave.
std::optional<int> take_digits(std::string_view& text, std::size_t digits) {
  if (text.size() < digits) return std::nullopt;
  int value = 0;
  for (std::size_t i = 0; i < digits; ++i) {
    if (text[i] < '0' || text[i] > '9') return std::nullopt;
    value = value * 10 + (text[i] - '0');
  }
  text.remove_prefix(digits);
  return value;
}

bool take(std::string_view& text, char c) {
  if (text.empty() || text.front() != c) return false;
  text.remove_prefix(1);
  return true;
}

std::optional<LocalDate> take_date(std::string_view& text) {
  const auto y = take_digits(text, 4);
  if (!y || !take(text, '-')) return std::nullopt;
  const auto m = take_digits(text, 2);
  if (!m || !take(text, '-')) return std::nullopt;
  const auto d = take_digits(text, 2);
  if (!d) return std::nullopt;
  const year_month_day ymd{year(*y), month(static_cast<unsigned>(*m)), day(static_cast<unsigned>(*d))};
  if (!ymd.ok()) return std::nullopt;
  return local_days(ymd);
}

std::optional<ClockTime> take_clock(std::string_view& text) {
  const auto h = take_digits(text, 2);
  if (!h || !take(text, ':')) return std::nullopt;
  const auto m = take_digits(text, 2);
  if (!m || *m > 59 || *h > 24 || (*h == 24 && *m != 0)) return std::nullopt;
  return hours(*h) + minutes(*m);
}

}  // namespace

Result<json::value> parse_json(std::string_view text, const std::string& name, json::storage_ptr memory) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  json::stream_parser parser;
  parser.reset(std::move(memory));
  json::error_code failed;
  const std::size_t used = parser.write_some(text.data(), text.size(), failed);
  std::size_t at = used;
  if (!failed && used == text.size()) {
    parser.finish(failed);
    if (!failed) return parser.release();
  }
  if (!failed) {
    const std::size_t rest = text.find_first_not_of(" \t\r\n", used);
    if (rest == std::string_view::npos) return parser.release();
    at = rest;
  }
  at = std::min(at, text.size());
  const std::string_view before = text.substr(0, at);
  const auto line = std::count(before.begin(), before.end(), '\n') + 1;
  const std::size_t column = at - (before.rfind('\n') == std::string_view::npos ? 0 : before.rfind('\n') + 1) + 1;
  return Error{ErrorKind::invalid, "not_json", name,
               fmt::format("line {}, column {}: {}", line, column,
                           failed ? failed.message() : "something follows the end of the document"),
               "write one JSON document (RFC 8259)"};
}

Result<std::string> read_text_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  if (in) {
    std::string text;
    std::error_code unknown;  // of a pipe
    if (const auto size = std::filesystem::file_size(path, unknown); !unknown) text.reserve(size);
    std::array<char, 1 << 16> part;
    while (in.read(part.data(), part.size()) || in.gcount() > 0) text.append(part.data(), static_cast<std::size_t>(in.gcount()));
    if (!in.bad()) return text;
  }
  return Error{ErrorKind::unreadable, "unreadable", path, "the file cannot be read",
               "give the path of a file that exists and may be read"};
}

std::string pointer_to(const std::string& parent, std::string_view name) {
  std::string pointer = parent + "/";
  for (const char c : name) {
    if (c == '~')
      pointer += "~0";
    else if (c == '/')
      pointer += "~1";
    else
      pointer += c;
  }
  return pointer;
}

std::string pointer_to(const std::string& parent, std::size_t index) { return parent + "/" + std::to_string(index); }

std::string shown(const json::value& value) {
  // Numbers as people write them: the library would print 25.0 as 2.5E1.
  if (value.is_double()) return fmt::format("{}", value.get_double());
  std::string text = json::serialize(value);
  if (text.size() > 40) text = text.substr(0, 37) + "...";
  return text;
}

JsonObject::JsonObject(const json::value& value, std::string pointer, Errors& mistakes)
    : pointer_(std::move(pointer)), mistakes_(&mistakes) {
  object_ = value.if_object();
  if (!object_) mistakes.push_back(wrong_kind(pointer_, "an object", value));
  known_.reserve(16);
}

const json::value* JsonObject::find(std::string_view name) {
  if (!object_) return nullptr;
  known_.emplace_back(name);
  const auto member = object_->find(name);
  if (member == object_->end()) return nullptr;
  return member->value().is_null() ? nullptr : &member->value();
}

std::optional<double> JsonObject::number(std::string_view name, NumberBounds bounds) {
  const json::value* value = find(name);
  if (!value) return std::nullopt;
  if (!value->is_number()) {
    mistakes_->push_back(wrong_kind(at(name), "a number", *value));
    return std::nullopt;
  }
  const auto number = value->to_number<double>();
  if (number >= bounds.lowest && number <= bounds.highest) return number;
  std::string wanted = std::isinf(bounds.highest)  ? fmt::format("at least {}", bounds.lowest)
                       : std::isinf(bounds.lowest) ? fmt::format("at most {}", bounds.highest)
                                                   : fmt::format("from {} to {}", bounds.lowest, bounds.highest);
  refuse(name, "out_of_range", fmt::format("{} is {}", name, shown(*value)), fmt::format("write a number {}", wanted));
  return std::nullopt;
}

std::optional<int> JsonObject::whole_number(std::string_view name, int lowest, int highest) {
  const auto value = number(name, {static_cast<double>(lowest), static_cast<double>(highest)});
  if (!value) return std::nullopt;
  if (std::floor(*value) == *value) return static_cast<int>(*value);
  refuse(name, "out_of_range", fmt::format("{} is {}, not a whole number", name, *value),
         fmt::format("write a whole number from {} to {}", lowest, highest));
  return std::nullopt;
}

std::optional<std::string> JsonObject::text(std::string_view name) {
  const json::value* value = find(name);
  if (!value) return std::nullopt;
  if (const auto* text = value->if_string()) return std::string(text->data(), text->size());
  mistakes_->push_back(wrong_kind(at(name), "a text", *value));
  return std::nullopt;
}

std::optional<bool> JsonObject::yes_or_no(std::string_view name) {
  const json::value* value = find(name);
  if (!value) return std::nullopt;
  if (const bool* yes = value->if_bool()) return *yes;
  mistakes_->push_back(wrong_kind(at(name), "true or false", *value));
  return std::nullopt;
}

const json::array* JsonObject::list(std::string_view name) {
  const json::value* value = find(name);
  if (!value) return nullptr;
  if (const auto* list = value->if_array()) return list;
  mistakes_->push_back(wrong_kind(at(name), "a list", *value));
  return nullptr;
}

std::optional<std::size_t> JsonObject::word(std::string_view name, std::span<const std::string_view> known) {
  const auto found = text(name);
  if (!found) return std::nullopt;
  for (std::size_t i = 0; i < known.size(); ++i)
    if (known[i] == *found) return i;
  const std::string_view near = nearest(*found, known);
  refuse(name, "unknown_word",
         fmt::format("{} \"{}\" is not known{}", name, *found, near.empty() ? "" : fmt::format("; did you mean \"{}\"?", near)),
         fmt::format("write one of {}", fmt::join(known, ", ")));
  return std::nullopt;
}

std::optional<LocalDate> JsonObject::date(std::string_view name) {
  const auto found = text(name);
  if (!found) return std::nullopt;
  const auto date = parse_date(*found);
  if (!date)
    refuse(name, "not_a_date", fmt::format("\"{}\" is not a date", *found), "write a date of the calendar such as 2027-04-02");
  return date;
}

std::optional<ClockTime> JsonObject::clock(std::string_view name) {
  const auto found = text(name);
  if (!found) return std::nullopt;
  const auto clock = parse_clock(*found);
  if (!clock)
    refuse(name, "not_a_clock_time", fmt::format("\"{}\" is not a clock time", *found),
           "write hours and minutes from 00:00 to 24:00, such as 09:30");
  return clock;
}

std::optional<UtcTime> JsonObject::instant(std::string_view name) {
  const auto found = text(name);
  if (!found) return std::nullopt;
  const auto instant = parse_instant(*found);
  if (instant) return *instant;
  refuse(name, instant.error().code, instant.error().what, instant.error().hint);
  return std::nullopt;
}

bool JsonObject::require(std::string_view name, std::string hint) {
  if (has(name)) return true;
  if (object_) refuse(name, "required", fmt::format("{} is left out", name), std::move(hint));
  return false;
}

void JsonObject::refuse(std::string_view name, std::string code, std::string what, std::string hint) {
  mistakes_->push_back({ErrorKind::invalid, std::move(code), at(name), std::move(what), std::move(hint)});
}

void JsonObject::refuse_unknown_members() {
  if (!object_) return;
  std::set<std::string_view> known;
  for (const auto& member : *object_) {
    const std::string_view name = member.key();
    if (std::find(known_.begin(), known_.end(), name) != known_.end()) continue;
    if (known.empty()) known.insert(known_.begin(), known_.end());
    const std::string_view near = nearest(name, known);
    refuse(name, "unknown_member", fmt::format("the member \"{}\" is not known", name),
           near.empty() ? fmt::format("leave it out; known here: {}", fmt::join(known, ", "))
                        : fmt::format("did you mean \"{}\"?", near));
  }
}

Result<UtcTime> parse_instant(std::string_view text) {
  const auto wrong = [&](std::string code, std::string_view why) {
    return Error{ErrorKind::invalid, std::move(code), "", fmt::format("\"{}\" {}", text, why),
                 "write a time with its offset, such as 2027-04-02T10:00:00+11:00 or 2027-04-01T23:00:00Z"};
  };
  std::string_view rest = text;
  const auto date = take_date(rest);
  if (!date || rest.empty() || (rest.front() != 'T' && rest.front() != 't' && rest.front() != ' '))
    return wrong("not_a_time", "is not a time");
  rest.remove_prefix(1);
  const auto clock = take_clock(rest);
  if (!clock || *clock == hours(24)) return wrong("not_a_time", "is not a time");
  seconds wall = LocalTime(*date).time_since_epoch() + *clock;
  if (take(rest, ':')) {
    const auto s = take_digits(rest, 2);
    if (!s || *s > 60) return wrong("not_a_time", "is not a time");
    wall += seconds(*s);
    if (take(rest, '.')) {
      const std::size_t digits = rest.find_first_not_of("0123456789");
      if (digits == 0 || rest.empty()) return wrong("not_a_time", "is not a time");
      rest.remove_prefix(std::min(digits, rest.size()));
    }
  }
  if (rest.empty()) return wrong("no_offset", "has no offset");
  if (rest == "Z" || rest == "z") return UtcTime(wall);
  const bool is_west = rest.front() == '-';
  if (!take(rest, '+') && !take(rest, '-')) return wrong("not_a_time", "is not a time");
  const auto offset = take_clock(rest);
  if (!offset || !rest.empty() || *offset >= hours(24)) return wrong("not_a_time", "is not a time");
  return UtcTime(is_west ? wall + *offset : wall - *offset);
}

std::optional<LocalDate> parse_date(std::string_view text) {
  const auto date = take_date(text);
  return date && text.empty() ? date : std::nullopt;
}

std::optional<std::chrono::month_day> parse_month_day(std::string_view text) {
  const auto m = take_digits(text, 2);
  if (!m || !take(text, '-')) return std::nullopt;
  const auto d = take_digits(text, 2);
  if (!d || !text.empty()) return std::nullopt;
  const month_day md{month(static_cast<unsigned>(*m)), day(static_cast<unsigned>(*d))};
  return md.ok() ? std::optional(md) : std::nullopt;
}

std::optional<ClockTime> parse_clock(std::string_view text) {
  const auto clock = take_clock(text);
  return clock && text.empty() ? clock : std::nullopt;
}

std::optional<int> parse_whole_number(std::string_view text, int lowest, int highest) {
  int number = 0;
  const auto [end, failed] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (failed != std::errc() || end != text.data() + text.size() || number < lowest || number > highest) return std::nullopt;
  return number;
}

std::string text_member(const json::value& document, std::string_view name) {
  const auto* object = document.if_object();
  return object ? text_member(*object, name) : std::string();
}

std::string text_member(const json::object& object, std::string_view name) {
  const json::value* member = object.if_contains(name);
  return member && member->is_string() ? std::string(member->get_string()) : std::string();
}

}  // namespace hakea::service
