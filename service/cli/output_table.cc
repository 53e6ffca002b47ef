// Days for people: unit by unit, best first, in 100 columns.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "core/catalogue/status.h"
#include "core/days/explain.h"
#include "service/cli/output.h"
#include "service/output/cautions.h"
#include "service/output/paragraph.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

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
    fmt::print("{}", paragraph(data_age(), 0));
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
    fmt::print("\n{}", paragraph(kGuidance, 0));
    if (shows_danger_) fmt::print("{}\n", kNotOfficialRating);
    if (shows_window_) fmt::print("{}\n", kWatchTheTail);
    fmt::print("{}", paragraph(kAskAboutBans, 0));
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

  static std::string key_of(const core::Limit& limit) { return std::string(core::catalogue()[limit.quantity].key); }

  static std::string limiting_in_words(const core::Day& day, const core::Limit& limit, const TimeZone& zone) {
    const core::Limiting& limiting = *day.limiting;
    std::string text =
        fmt::format("limiting: {} {}", core::with_standing(key_of(limit), limit.quantity, day), core::word(limit.scope));
    if (limiting.value) text += " " + value_in_words(limit, static_cast<double>(*limiting.value));
    if (const std::string bounds = bounds_in_words(limit, limiting.value); !bounds.empty()) text += fmt::format(" ({})", bounds);
    if (limiting.margin) text += fmt::format(", margin {}", value_in_words(limit, *limiting.margin));
    if (limiting.margin_errors) text += fmt::format(" = {:.1f} forecast errors", *limiting.margin_errors);
    if (limiting.at)
      text += fmt::format(", {} {}", day_name(zone.date(limiting.at->start())), clock_text(limiting.at->start(), zone));
    if (limiting.gain_h && *limiting.gain_h > 0) text += fmt::format("; without it {} h more", *limiting.gain_h);
    return text;
  }

  static std::string tail_in_words(const core::Day& day, const std::vector<core::Limit>& limits, const TimeZone& zone) {
    const core::Tail& tail = day.tail;
    std::string text = fmt::format("tail {}", core::word(tail.verdict));
    const auto add = [&](std::string_view what, const std::optional<core::TailValue>& v) {
      if (!v || v->limit >= limits.size()) return;
      const core::Limit& limit = limits[v->limit];
      text += fmt::format("; {} {} {} {} {}", what, core::with_standing(key_of(limit), limit.quantity, day),
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
    if (!day.why.empty()) fmt::print("{}", paragraph(day.why, kIndent));
    for (const core::Blocked& b : day.blocked_by)
      fmt::print("{}", paragraph(fmt::format("blocked: {}{}{}{}{}", b.kind, b.why.empty() ? "" : ", ", b.why,
                                             b.until.empty() ? "" : ", until ", b.until),
                                 kIndent));
    if (day.limiting && day.limiting->limit < limits.size())
      fmt::print("{}", paragraph(limiting_in_words(day, limits[day.limiting->limit], zone), kIndent));
    if (day.tail.verdict != core::TailVerdict::none) fmt::print("{}", paragraph(tail_in_words(day, limits, zone), kIndent));
    std::vector<std::string> notes, missing;
    for (const core::Note& n : day.notes)
      notes.push_back(fmt::format("{} {}{} ({})", core::with_standing(key_of(limits[n.limit]), limits[n.limit].quantity, day),
                                  core::word(limits[n.limit].scope),
                                  n.value ? " " + value_in_words(limits[n.limit], static_cast<double>(*n.value)) : "",
                                  bounds_in_words(limits[n.limit], n.value)));
    for (const core::MissingInput& m : day.missing)
      missing.push_back(
          fmt::format("{} {} h ({})", m.quantity ? core::catalogue()[*m.quantity].key : "all", m.hours, core::word(m.reason)));
    if (!notes.empty()) fmt::print("{}", paragraph(fmt::format("not preferred: {}", fmt::join(notes, "; ")), kIndent));
    if (!missing.empty()) fmt::print("{}", paragraph(fmt::format("missing: {}", fmt::join(missing, "; ")), kIndent));
  }

  void print_hours(const Outlook& outlook) {
    std::vector<std::size_t> quantities = head_.quantities;
    if (quantities.empty())
      for (const core::Limit& limit : outlook.unit->prescription.limits)
        if (std::find(quantities.begin(), quantities.end(), limit.quantity) == quantities.end())
          quantities.push_back(limit.quantity);
    const TimeZone& zone = outlook.unit->traits.zone;
    const core::UnitHours& hours = *outlook.hours;
    constexpr std::size_t kDigits = 12;  // of a float32
    const auto width = [&](std::size_t q) { return std::max(core::catalogue()[q].key.size(), kDigits); };
    fmt::print("\n  {:<25} {:<7}", "hour", "fit");
    for (const std::size_t q : quantities) fmt::print(" {:>{}} ", core::catalogue()[q].key, width(q));
    fmt::print("\n");
    std::map<std::pair<std::size_t, core::Reason>, std::size_t> missing;
    bool has_mark = false;
    for (std::size_t i = 0; i < hours.hours; ++i) {
      std::string line =
          fmt::format("  {:<25} {:<7}", local_text((hours.first + static_cast<int>(i)).start(), zone), word(outlook.hour_fit[i]));
      for (const std::size_t q : quantities) {
        const core::Column& column = hours.columns[q];
        const bool is_marked = column.flags(i) & core::flag::kOutOfDomain;
        has_mark = has_mark || is_marked;
        if (column.is_missing(i)) ++missing[{q, column.why(i)}];
        line += fmt::format(" {:>{}}{}", column.is_missing(i) ? "-" : digits(column[i]), width(q), is_marked ? '*' : ' ');
      }
      fmt::print("{}\n", line.substr(0, line.find_last_not_of(' ') + 1));
    }
    if (has_mark) fmt::print("  * outside the published domain of its model: it can fail a limit and passes none\n");
    for (const auto& [what, count] : missing)
      fmt::print("  - {}: {} of {} h missing, {}\n", core::catalogue()[what.first].key, count, hours.hours,
                 core::word(what.second));
    for (const std::size_t q : quantities)
      if (core::status_of(core::catalogue()[q], outlook.unit->traits) == core::Status::provisional)
        fmt::print("  {} rests on a provisional model\n", core::catalogue()[q].key);
  }

  // The shortest decimal that reads back as the value.
  static std::string digits(float value) { return JsonWriter().number(static_cast<double>(value)).str(); }

  AnswerHead head_;
  bool shows_danger_ = false, shows_window_ = false;
};

}  // namespace

std::unique_ptr<AnswerPrinter> table_printer() { return std::make_unique<TablePrinter>(); }

}  // namespace hakea::service
