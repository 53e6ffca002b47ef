// Days as CSV (RFC 4180): a row a window, a row for a day without one. With hours: a row an hour instead.
#include <fmt/format.h>

#include "core/catalogue/catalogue.h"
#include "service/cli/output.h"
#include "service/output/hours_csv.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

std::string cell(std::string_view text) {
  if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + "\"";
}

std::string number(double value) {
  JsonWriter digits;
  digits.number(value);
  return std::isfinite(value) ? digits.str() : std::string();
}
template <class T>
std::string number(const std::optional<T>& value) {
  return value ? number(static_cast<double>(*value)) : std::string();
}

class CsvPrinter : public AnswerPrinter {
 public:
  void begin(const AnswerHead& head) override {
    head_ = head;
    if (!head.with_hours) {
      print({"unit",
             "date",
             "verdict",
             "rank",
             "fit",
             "confidence",
             "draft",
             "start",
             "end",
             "hours [h]",
             "unconfirmed",
             "open_ended",
             "latest_light_up",
             "limiting_quantity",
             "limiting_scope",
             "limiting_value",
             "limiting_margin",
             "limiting_margin_errors",
             "limiting_gain [h]",
             "tail",
             "blocked_by",
             "notes",
             "missing",
             "provisional",
             "why"});
      return;
    }
    fmt::print("{}", hours_csv_head(chosen_or_all(head.quantities)));
  }

  void unit(const Outlook& outlook, const std::vector<SamplingNote>&) override {
    if (head_.with_hours)
      print_hours(outlook);
    else
      for (const core::Day& day : outlook.days) print_day(*outlook.unit, day);
  }

  void end() override {}

 private:
  static void print(const std::vector<std::string>& cells) {
    std::string line;
    for (const std::string& c : cells) line += (line.empty() && &c == &cells.front() ? "" : ",") + cell(c);
    fmt::print("{}\r\n", line);
  }

  static std::string joined(const std::vector<std::string>& words) { return fmt::format("{}", fmt::join(words, " ")); }

  void print_day(const Unit& unit, const core::Day& day) {
    const auto& limits = unit.prescription.limits;
    const auto key = [&](std::size_t limit) { return std::string(core::catalogue()[limits[limit].quantity].key); };
    const TimeZone& zone = unit.traits.zone;
    const bool has_limiting = day.limiting && day.limiting->limit < limits.size();
    std::vector<std::string> blocked, notes, missing, provisional;
    for (const core::Blocked& b : day.blocked_by) blocked.push_back(b.kind);
    for (const core::Note& n : day.notes) notes.push_back(key(n.limit));
    for (const core::MissingInput& m : day.missing)
      missing.push_back(fmt::format("{}:{}", m.quantity ? core::catalogue()[*m.quantity].key : "day", core::word(m.reason)));
    for (const std::size_t q : day.provisional) provisional.emplace_back(core::catalogue()[q].key);
    const std::vector<std::string> front{unit.id,
                                         date_text(day.date),
                                         std::string(core::word(day.verdict)),
                                         std::to_string(day.rank),
                                         number(day.fit),
                                         std::string(core::word(day.confidence)),
                                         day.draft ? "true" : "false"};
    std::vector<std::string> back;
    if (has_limiting)
      back = {key(day.limiting->limit),
              std::string(core::word(limits[day.limiting->limit].scope)),
              number(day.limiting->value),
              number(day.limiting->margin),
              number(day.limiting->margin_errors),
              number(day.limiting->gain_h)};
    else
      back.resize(6);
    back.insert(back.end(), {day.tail.verdict == core::TailVerdict::none ? "" : std::string(core::word(day.tail.verdict)),
                             joined(blocked), joined(notes), joined(missing), joined(provisional), day.why});
    const auto row = [&](const std::vector<std::string>& window) {
      std::vector<std::string> cells = front;
      cells.insert(cells.end(), window.begin(), window.end());
      cells.insert(cells.end(), back.begin(), back.end());
      print(cells);
    };
    for (const core::Window& w : day.windows)
      row({local_text(w.start.start(), zone), local_text(w.end.start(), zone), std::to_string(w.hours()),
           w.unconfirmed ? "true" : "false", w.open_ended ? "true" : "false",
           w.latest_light_up == UtcTime{} ? "" : local_text(w.latest_light_up, zone)});
    if (day.windows.empty()) row({"", "", "", "", "", ""});
  }

  void print_hours(const Outlook& outlook) {
    if (!outlook.hours) return;
    std::string rows;
    add_hours_csv(rows, outlook.unit->id, *outlook.hours, outlook.hour_fit, chosen_or_all(head_.quantities));
    fmt::print("{}", rows);
  }

  AnswerHead head_;
};

}  // namespace

std::unique_ptr<AnswerPrinter> csv_printer() { return std::make_unique<CsvPrinter>(); }

}  // namespace hakea::service
