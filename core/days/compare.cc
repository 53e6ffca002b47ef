#include "core/days/compare.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "core/days/explain.h"

namespace hakea::core {
namespace {

std::string spoken(Verdict verdict) { return verdict == Verdict::near_miss ? "near miss" : std::string(word(verdict)); }

// Two decimals, as fits are.
std::string hundredths(double value) {
  const long n = std::lround(value * 100);
  const std::string digits = std::to_string(std::abs(n) % 100);
  return (n < 0 ? "-" : "") + std::to_string(std::abs(n) / 100) + "." + (digits.size() == 1 ? "0" : "") + digits;
}

std::string against(double a, double b) { return hundredths(a) + " against " + hundredths(b); }

// A limit that is not kept, by the value that decides it.
std::string not_kept(const Limit& limit, std::optional<float> value, std::optional<UtcHour> at, const Day& day,
                     const TimeZone& zone) {
  const QuantityRow& quantity = catalogue()[limit.quantity];
  std::string text = with_standing(lower_title(quantity), limit.quantity, day) + scope_text(limit);
  text += value ? " is " + with_unit(static_cast<double>(*value), quantity.unit) : std::string(" is unknown");
  if (value && at && zone.date(at->start()) != day.date) text += " on " + weekday_in_words(zone.date(at->start()));
  return text + ", " + needs_text(limit);
}

// What keeps a day from being met; empty where nothing is at hand to say it.
std::string what_is_wrong(const Day& day, const Prescription& prescription, const TimeZone& zone) {
  if (day.verdict == Verdict::blocked && !day.blocked_by.empty()) {
    const Blocked& by = day.blocked_by.front();
    return by.why.empty() ? by.kind : by.why;
  }
  if (day.tail.verdict == TailVerdict::out && day.tail.worst && day.tail.worst->limit < prescription.limits.size() &&
      !day.windows.empty())
    return not_kept(prescription.limits[day.tail.worst->limit], day.tail.worst->value, day.tail.worst->at, day, zone);
  if (day.verdict == Verdict::unknown && day.tail.verdict == TailVerdict::unknown)
    return "its " + unknown_tail_text(prescription, day);
  if (day.limiting && day.limiting->limit < prescription.limits.size())
    return not_kept(prescription.limits[day.limiting->limit], day.limiting->value, day.limiting->at, day, zone);
  if (day.verdict == Verdict::unknown && !day.missing.empty()) {
    const MissingInput& missing = day.missing.front();
    const std::string what = missing.quantity ? lower_title(catalogue()[*missing.quantity]) : std::string("its weather");
    return what + " is unknown";
  }
  return "";
}

std::string by_verdict(const Day& first, const Day& second, std::string_view who, const Prescription& prescription,
                       const TimeZone& zone) {
  std::string text = spoken(first.verdict) + " against " + spoken(second.verdict);
  const std::string wrong = what_is_wrong(second, prescription, zone);
  return wrong.empty() ? text : text + "; " + std::string(who) + ": " + wrong;
}

// The fits with the addend that parts them most.
std::string by_fit(const Day& first, const Day& second) {
  std::string text = "fit " + against(first.fit.value_or(0), second.fit.value_or(0));
  std::string_view most;
  double apart = 0, mine = 0, other = 0;
  const auto points = [](const Day& day, std::string_view name) {
    double sum = 0;
    for (const Part& part : day.parts) sum += part.name == name ? part.points : 0;
    return sum;
  };
  for (const std::string_view name : {"preference", "margin", "notes", "short", "clipped"}) {
    const double a = points(first, name), b = points(second, name);
    if (a - b <= apart) continue;
    most = name, apart = a - b, mine = a, other = b;
  }
  if (most.empty()) return text;
  const std::string_view spoken_part = most == "preference" ? "its hours lie nearer to what is preferred"
                                       : most == "margin"   ? "its limits are kept by more"
                                       : most == "notes"    ? "fewer preferences fail"
                                       : most == "short"    ? "less is missing of its duration"
                                                            : "less is cut off";
  return text + "; " + std::string(spoken_part) + ", " + against(mine, other);
}

std::string same(Verdict verdict) { return "both " + spoken(verdict); }

}  // namespace

bool ranks_before(const Day& a, const Day& b) {
  const auto key = [](const Day& day) { return std::tuple(day.verdict, -day.fit.value_or(0), -day.smallest_margin, day.date); };
  return key(a) < key(b);
}

bool ranks_before(const UnitOnDay& a, const UnitOnDay& b) {
  const auto key = [](const UnitOnDay& unit) {
    return std::tuple(unit.day->verdict, unit.priority, -unit.rarity, -unit.day->fit.value_or(-1), unit.id);
  };
  return key(a) < key(b);
}

std::string compared(const Day& a, const Day& b, const Prescription& prescription, const UnitTraits& unit) {
  if (ranks_before(b, a)) return compared(b, a, prescription, unit);
  if (a.date == b.date) return date_in_words(a.date) + " is one day";
  const std::string head = date_in_words(a.date) + " before " + date_in_words(b.date) + ": ";
  if (a.verdict != b.verdict) return head + by_verdict(a, b, "on " + weekday_in_words(b.date), prescription, unit.zone);
  const std::string both = head + same(a.verdict) + "; ";
  if (a.fit.value_or(0) != b.fit.value_or(0)) return both + by_fit(a, b);
  if (a.smallest_margin != b.smallest_margin)
    return both + "of one fit, " + hundredths(a.fit.value_or(0)) + "; its smallest margin is " + hundredths(a.smallest_margin) +
           " forecast errors against " + hundredths(b.smallest_margin);
  return both + "alike in fit and margin, and the earlier one goes first";
}

std::string compared(const UnitOnDay& a, const UnitOnDay& b) {
  if (ranks_before(b, a)) return compared(b, a);
  if (a.id == b.id) return std::string(a.name) + " is one unit";
  const std::string head = std::string(a.name) + " before " + std::string(b.name) + " on " + date_in_words(a.day->date) + ": ";
  if (a.day->verdict != b.day->verdict) return head + by_verdict(*a.day, *b.day, b.name, *b.prescription, b.traits->zone);
  const std::string both = head + same(a.day->verdict) + "; ";
  if (a.priority != b.priority) return both + "priority " + std::to_string(a.priority) + " against " + std::to_string(b.priority);
  if (a.rarity != b.rarity) return both + "its windows are rarer, " + against(a.rarity, b.rarity);
  if (a.day->fit.value_or(-1) != b.day->fit.value_or(-1)) return both + by_fit(*a.day, *b.day);
  return both + "alike in priority, rarity and fit, and the ids stand in this order";
}

}  // namespace hakea::core
