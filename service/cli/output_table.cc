// Days for people: unit by unit, best first, in 100 columns.
#include <fmt/format.h>

#include <algorithm>

#include "core/catalogue/catalogue.h"
#include "core/days/explain.h"
#include "service/cli/output.h"
#include "service/output/cautions.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::size_t kWidth = 100;

// Breaks a paragraph into lines of at most kWidth letters, each indented.
std::string wrapped(std::string_view text, std::size_t indent) {
  std::string lines;
  std::size_t column = 0;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (word.empty()) continue;
    // Bytes that continue a letter of UTF-8 take no column.
    const auto letters = static_cast<std::size_t>(
        std::count_if(word.begin(), word.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
    if (column > 0 && column + 1 + letters > kWidth) {
      lines += '\n';
      column = 0;
    }
    if (column == 0) {
      lines += std::string(indent, ' ');
      column = indent;
    } else {
      lines += ' ';
      ++column;
    }
    lines += word;
    column += letters;
  }
  return lines + "\n";
}

std::string bounds_in_words(const core::Limit& limit, std::optional<double> value) {
  if (!limit.sectors.empty()) {
    std::vector<std::string> sectors;
    for (const core::Sector& s : limit.sectors) sectors.push_back(fmt::format("{:g}-{:g}", s.from, s.to));
    return fmt::format("sector {}", fmt::join(sectors, ", "));
  }
  const core::Range range = bounds_that_matter(limit.acceptable, value);
  std::vector<std::string> bounds;
  if (range.lower) bounds.push_back(fmt::format("{} {:g}", range.lower->open ? "above" : "min", range.lower->value));
  if (range.upper) bounds.push_back(fmt::format("{} {:g}", range.upper->open ? "below" : "max", range.upper->value));
  return fmt::format("{}", fmt::join(bounds, ", "));
}

class TablePrinter : public AnswerPrinter {
 public:
  void begin(const AnswerHead& head) override {
    head_ = head;
    fmt::print("Days for {} unit{}, now {}\n", head.unit_count, head.unit_count == 1 ? "" : "s", utc_text(head.now));
    fmt::print("{}", wrapped(data_age(), 0));
  }

  void unit(const Outlook& outlook, const std::vector<SamplingNote>&) override {
    const Unit& unit = *outlook.unit;
    fmt::print("\n{}", unit.name);
    if (unit.name != unit.id) fmt::print(" ({})", unit.id);
    if (!unit.district.empty()) fmt::print(", {}", unit.district);
    fmt::print(", {}\n", unit.traits.zone.name());
    for (const core::Day& day : outlook.days) print_day(unit, day);
    if (outlook.hours) print_hours(outlook);
    for (const core::Limit& limit : unit.prescription.limits)
      shows_danger_ = shows_danger_ || core::catalogue()[limit.quantity].key == "ffdi";
  }

  void end() override {
    fmt::print("\n{}", wrapped(kGuidance, 0));
    if (shows_danger_) fmt::print("{}\n", kNotOfficialRating);
    if (shows_window_) fmt::print("{}\n", kWatchTheTail);
    fmt::print("{}", wrapped(kAskAboutBans, 0));
  }

 private:
  std::string data_age() const {
    if (head_.runs.empty()) return fmt::format("Weather from {}.", head_.source);
    const RunNote& run = head_.runs.front();
    const auto age = std::chrono::duration_cast<std::chrono::hours>(head_.now - run.reference_time).count();
    return fmt::format("Forecast made {}, {} h old; from {}.", utc_text(run.reference_time), age, head_.source);
  }

  static std::string window_in_words(const core::Window& w, const TimeZone& zone) {
    std::string text = fmt::format("{}-{} ({} h)", clock_text(w.start.start(), zone), clock_text(w.end.start(), zone), w.hours());
    if (w.unconfirmed) text += " unconfirmed";
    if (w.open_ended)
      text += ", open at the forecast's end";
    else if (w.latest_light_up != UtcTime{} && !w.unconfirmed)
      text += fmt::format(", light up by {}", clock_text(w.latest_light_up, zone));
    return text;
  }

  static std::string value_in_words(const core::Limit& limit, double value) {
    return core::with_unit(value, core::catalogue()[limit.quantity].unit);
  }

  static std::string limiting_in_words(const core::Limiting& limiting, const core::Limit& limit, const TimeZone& zone) {
    std::string text = fmt::format("limiting: {} {}", core::catalogue()[limit.quantity].key, core::word(limit.scope));
    if (limiting.value) text += " " + value_in_words(limit, static_cast<double>(*limiting.value));
    if (const std::string bounds = bounds_in_words(limit, limiting.value); !bounds.empty()) text += fmt::format(" ({})", bounds);
    if (limiting.margin) text += fmt::format(", margin {}", value_in_words(limit, *limiting.margin));
    if (limiting.margin_errors) text += fmt::format(" = {:.1f} forecast errors", *limiting.margin_errors);
    if (limiting.at)
      text += fmt::format(", {} {}", day_name(zone.date(limiting.at->start())), clock_text(limiting.at->start(), zone));
    if (limiting.gain_h && *limiting.gain_h > 0) text += fmt::format("; without it {} h more", *limiting.gain_h);
    return text;
  }

  static std::string tail_in_words(const core::Tail& tail, const std::vector<core::Limit>& limits, const TimeZone& zone) {
    std::string text = fmt::format("tail {}", core::word(tail.verdict));
    const auto add = [&](std::string_view what, const std::optional<core::TailValue>& v) {
      if (!v || v->limit >= limits.size()) return;
      const core::Limit& limit = limits[v->limit];
      text += fmt::format("; {} {} {} {} {}", what, core::catalogue()[limit.quantity].key,
                          value_in_words(limit, static_cast<double>(v->value)), day_name(zone.date(v->at.start())),
                          clock_text(v->at.start(), zone));
    };
    add("worst", tail.worst);
    add("beyond it", tail.beyond);
    return text;
  }

  void print_day(const Unit& unit, const core::Day& day) {
    const auto& limits = unit.prescription.limits;
    const TimeZone& zone = unit.traits.zone;
    std::vector<std::string> windows;
    for (const core::Window& w : day.windows) windows.push_back(window_in_words(w, zone));
    shows_window_ = shows_window_ || day.verdict == core::Verdict::met;
    const std::string verdict = std::string(core::word(day.verdict)) + (day.draft ? " draft" : "");
    fmt::print("{:>4}  {:<10}  {:<10} {:<4}  {:<8}  {}\n", day.rank, day_name(day.date), verdict,
               day.fit ? fmt::format("{:.2f}", *day.fit) : "-", core::word(day.confidence), fmt::join(windows, "; "));
    constexpr std::size_t kIndent = 18;
    if (!day.why.empty()) fmt::print("{}", wrapped(day.why, kIndent));
    for (const core::Blocked& b : day.blocked_by)
      fmt::print("{}", wrapped(fmt::format("blocked: {}{}{}{}{}", b.kind, b.why.empty() ? "" : ", ", b.why,
                                           b.until.empty() ? "" : ", until ", b.until),
                               kIndent));
    if (day.limiting && day.limiting->limit < limits.size())
      fmt::print("{}", wrapped(limiting_in_words(*day.limiting, limits[day.limiting->limit], zone), kIndent));
    if (day.tail.verdict != core::TailVerdict::none) fmt::print("{}", wrapped(tail_in_words(day.tail, limits, zone), kIndent));
    std::vector<std::string> notes, missing;
    for (const core::Note& n : day.notes)
      notes.push_back(fmt::format("{} {}{} ({})", core::catalogue()[limits[n.limit].quantity].key,
                                  core::word(limits[n.limit].scope),
                                  n.value ? " " + value_in_words(limits[n.limit], static_cast<double>(*n.value)) : "",
                                  bounds_in_words(limits[n.limit], n.value)));
    for (const core::MissingInput& m : day.missing)
      missing.push_back(
          fmt::format("{} {} h ({})", m.quantity ? core::catalogue()[*m.quantity].key : "all", m.hours, core::word(m.reason)));
    if (!notes.empty()) fmt::print("{}", wrapped(fmt::format("not preferred: {}", fmt::join(notes, "; ")), kIndent));
    if (!missing.empty()) fmt::print("{}", wrapped(fmt::format("missing: {}", fmt::join(missing, "; ")), kIndent));
  }

  void print_hours(const Outlook& outlook) {
    std::vector<std::size_t> quantities = head_.quantities;
    if (quantities.empty())
      for (const core::Limit& limit : outlook.unit->prescription.limits)
        if (std::find(quantities.begin(), quantities.end(), limit.quantity) == quantities.end())
          quantities.push_back(limit.quantity);
    const TimeZone& zone = outlook.unit->traits.zone;
    fmt::print("\n  {:<25} {:<7}", "hour", "fit");
    for (const std::size_t q : quantities) fmt::print(" {}", core::catalogue()[q].key);
    fmt::print("\n");
    for (std::size_t i = 0; i < outlook.hours->hours; ++i) {
      fmt::print("  {:<25} {:<7}", local_text((outlook.hours->first + static_cast<int>(i)).start(), zone),
                 word(outlook.hour_fit[i]));
      for (const std::size_t q : quantities) {
        const core::Column& column = outlook.hours->columns[q];
        const std::string shown = column.is_missing(i) ? std::string("-") : core::in_words(static_cast<double>(column[i]));
        fmt::print(" {:>{}}", shown, core::catalogue()[q].key.size());
      }
      fmt::print("\n");
    }
  }

  AnswerHead head_;
  bool shows_danger_ = false, shows_window_ = false;
};

}  // namespace

std::unique_ptr<AnswerPrinter> table_printer() { return std::make_unique<TablePrinter>(); }

}  // namespace hakea::service
