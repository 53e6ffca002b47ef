#include "service/tell/alert_memory.h"

#include <algorithm>
#include <charconv>
#include <string_view>
#include <vector>

#include "core/base/words.h"

namespace hakea::service {
namespace {

using namespace core;

// Fields separated by tabs; none of them holds one: they are ids, times and words of ours.
class Line {
 public:
  Line& text(const std::string& value) {
    text_ += (text_.empty() && !has_any_ ? "" : "\t") + value;
    has_any_ = true;
    return *this;
  }
  Line& whole(std::int64_t value) { return text(std::to_string(value)); }
  Line& time(UtcTime t) { return whole(t.time_since_epoch().count()); }
  Line& time(const std::optional<UtcTime>& t) { return t ? time(*t) : text("-"); }
  Line& span(const TimeSpan& span) { return time(span.start).time(span.end); }
  Line& date(LocalDate date) { return whole(date.time_since_epoch().count()); }
  const std::string& str() const { return text_; }

 private:
  std::string text_;
  bool has_any_ = false;
};

class Fields {
 public:
  explicit Fields(std::string_view line) {
    std::size_t from = 0;
    for (std::size_t to; (to = line.find('\t', from)) != std::string_view::npos; from = to + 1)
      fields_.emplace_back(line.substr(from, to - from));
    fields_.emplace_back(line.substr(from));
  }
  std::string text() {
    if (next_ < fields_.size()) return fields_[next_++];
    is_good_ = false;
    return "";
  }
  std::int64_t whole() {
    const std::string field = text();
    std::int64_t value = 0;
    const auto [end, error] = std::from_chars(field.data(), field.data() + field.size(), value);
    if (error != std::errc() || end != field.data() + field.size() || field.empty()) is_good_ = false;
    return value;
  }
  int number() { return static_cast<int>(whole()); }
  bool yes() { return whole() != 0; }
  UtcTime time() { return UtcTime(std::chrono::seconds(whole())); }
  std::optional<UtcTime> maybe_time() {
    if (next_ < fields_.size() && fields_[next_] == "-") {
      ++next_;
      return std::nullopt;
    }
    return time();
  }
  TimeSpan span() {
    TimeSpan read;
    read.start = time();
    read.end = time();
    return read;
  }
  LocalDate date() { return LocalDate(std::chrono::days(whole())); }
  bool is_good() const { return is_good_; }
  bool has_more() const { return next_ < fields_.size(); }

 private:
  std::vector<std::string> fields_;
  std::size_t next_ = 0;
  bool is_good_ = true;
};

std::string text_of(const WindowMemory& m) {
  return Line()
      .text(m.run)
      .whole(m.met_runs)
      .whole(m.moved_runs)
      .whole(m.is_open)
      .span(m.told)
      .whole(static_cast<int>(m.surest))
      .str();
}

WindowMemory read_window(Fields& f) {
  WindowMemory m;
  m.run = f.text();
  m.met_runs = f.number();
  m.moved_runs = f.number();
  m.is_open = f.yes();
  m.told = f.span();
  if (f.has_more())
    m.surest = static_cast<core::Confidence>(std::clamp(f.number(), 0, static_cast<int>(core::Confidence::early)));
  return m;
}

std::string text_of(const BookingMemory& m) {
  Line line;
  line.date(m.date).whole(m.is_armed).whole(m.is_lost).whole(m.is_smoke_told).whole(m.is_rain_told);
  line.time(m.turn_told).time(m.end_told);
  line.time(m.briefed ? std::optional(m.briefed->start) : std::nullopt);
  line.time(m.briefed ? std::optional(m.briefed->end) : std::nullopt);
  return line.str();
}

BookingMemory read_booking(Fields& f) {
  BookingMemory m;
  m.date = f.date();
  m.is_armed = f.yes();
  m.is_lost = f.yes();
  m.is_smoke_told = f.yes();
  m.is_rain_told = f.yes();
  m.turn_told = f.maybe_time();
  m.end_told = f.maybe_time();
  const auto start = f.maybe_time(), end = f.maybe_time();
  if (start && end) m.briefed = TimeSpan{*start, *end};
  return m;
}

std::string text_of(const std::vector<SpellTold>& spells) {
  std::string text;
  for (const SpellTold& spell : spells) text += Line().span(spell.hours).whole(spell.rank).str() + "\n";
  return text;
}

std::string text_of(const Listener& listener) {
  std::string text = Line().date(listener.counted_on).whole(listener.messages).str() + "\n";
  for (const auto& [thread, told] : listener.told)
    text += Line().text("told").text(thread).text(told.says).time(told.at).time(told.until).str() + "\n";
  for (const Held& held : listener.held) {
    Line line;
    line.text("held").text(held.event).text(std::string(row_of(held.kind).type)).text(held.thread).text(held.says);
    text += line.time(held.due).time(held.expires_at).str() + "\n";
  }
  return text;
}

std::optional<Listener> read_listener(const std::string& text) {
  Listener listener;
  bool is_first = true;
  for (const std::string_view line : words(text, '\n')) {
    Fields f(line);
    if (std::exchange(is_first, false)) {
      listener.counted_on = f.date();
      listener.messages = f.number();
    } else if (const std::string what = f.text(); what == "told") {
      const std::string thread = f.text();
      ToldThread told;
      told.says = f.text();
      told.at = f.time();
      told.until = f.time();
      listener.told.insert_or_assign(thread, told);
    } else {
      Held held;
      held.event = f.text();
      const auto kind = alert_kind(f.text());
      held.thread = f.text();
      held.says = f.text();
      held.due = f.time();
      held.expires_at = f.time();
      if (!kind) return std::nullopt;
      held.kind = *kind;
      listener.held.push_back(held);
    }
    if (!f.is_good()) return std::nullopt;
  }
  return listener;
}

std::string text_of(const Unanswered& u) {
  Line line;
  line.time(u.at).time(u.expires_at).text(u.unit).text(u.district);
  for (const std::string& subscription : u.told) line.text(subscription);
  return line.str();
}

Unanswered read_unanswered(Fields& f) {
  Unanswered u;
  u.at = f.time();
  u.expires_at = f.time();
  u.unit = f.text();
  u.district = f.text();
  while (f.has_more()) u.told.push_back(f.text());
  return u;
}

template <class T, class Read>
void take(std::map<std::string, T>& into, const std::string& key, const std::string& text, Read read) {
  Fields fields(text);
  T value = read(fields);
  if (fields.is_good()) into.insert_or_assign(key, std::move(value));
}

}  // namespace

MemoryTexts memory_texts(const AlertMemory& memory) {
  MemoryTexts texts;
  for (const auto& [key, m] : memory.watched.windows) texts["window/" + key] = text_of(m);
  for (const auto& [key, m] : memory.watched.bookings) texts["booking/" + key] = text_of(m);
  for (const auto& [key, m] : memory.watched.spells) texts["spells/" + key] = text_of(m);
  for (const auto& [key, m] : memory.watched.feeds)
    texts["feed/" + key] = Line().whole(m.is_late).text(m.published).text(m.incomplete_run).str();
  for (const auto& [key, date] : memory.watched.notices) texts["notice/" + key] = Line().date(date).str();
  for (const auto& [key, date] : memory.watched.crews) texts["crews/" + key] = Line().date(date).str();
  for (const auto& [key, date] : memory.watched.rares) texts["rare/" + key] = Line().date(date).str();
  for (const auto& [key, date] : memory.watched.digests) texts["digest/" + key] = Line().date(date).str();
  for (const auto& [key, m] : memory.routed.listeners) texts["listener/" + key] = text_of(m);
  for (const auto& [key, m] : memory.routed.unanswered) texts["unanswered/" + key] = text_of(m);
  return texts;
}

AlertMemory read_memory(const MemoryTexts& texts) {
  AlertMemory memory;
  const auto read_date = [](Fields& f) { return f.date(); };
  for (const auto& [key, text] : texts) {
    const std::size_t slash = key.find('/');
    if (slash == std::string::npos) continue;
    const std::string what = key.substr(0, slash), of = key.substr(slash + 1);
    if (what == "window") take(memory.watched.windows, of, text, read_window);
    if (what == "booking") take(memory.watched.bookings, of, text, read_booking);
    if (what == "spells")
      for (const std::string_view line : words(text, '\n')) {
        Fields fields(line);
        SpellTold spell;
        spell.hours = fields.span();
        spell.rank = fields.number();
        if (fields.is_good()) memory.watched.spells[of].push_back(spell);
      }
    if (what == "feed")
      take(memory.watched.feeds, of, text, [](Fields& f) {
        FeedMemory m;
        m.is_late = f.yes();
        m.published = f.text();
        m.incomplete_run = f.text();
        return m;
      });
    if (what == "notice") take(memory.watched.notices, of, text, read_date);
    if (what == "crews") take(memory.watched.crews, of, text, read_date);
    if (what == "rare") take(memory.watched.rares, of, text, read_date);
    if (what == "digest") take(memory.watched.digests, of, text, read_date);
    if (what == "listener")
      if (auto listener = read_listener(text)) memory.routed.listeners.insert_or_assign(of, *std::move(listener));
    if (what == "unanswered") take(memory.routed.unanswered, of, text, read_unanswered);
  }
  return memory;
}

std::map<std::string, std::optional<std::string>> changed(const MemoryTexts& before, const MemoryTexts& after) {
  std::map<std::string, std::optional<std::string>> changes;
  for (const auto& [key, text] : after)
    if (const auto known = before.find(key); known == before.end() || known->second != text) changes[key] = text;
  for (const auto& [key, text] : before)
    if (!after.contains(key)) changes[key] = std::nullopt;
  return changes;
}

}  // namespace hakea::service
