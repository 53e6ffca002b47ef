#include "service/input/prescription_json.h"

#include <fmt/format.h>

#include <array>
#include <bit>
#include <cmath>

#include "service/input/limit_json.h"

namespace hakea::service {
namespace {

using namespace std::chrono;
using core::Prescription;

constexpr std::array<std::string_view, 8> kDays{"mon", "tue", "wed", "thu", "fri", "sat", "sun", "holiday"};
constexpr std::size_t kHoliday = 7;

void read_days(JsonObject& object, Prescription& prescription) {
  const json::array* days = object.list("days");
  if (!days) return;
  prescription.weekdays.reset();
  prescription.holidays_pass = false;
  if (days->empty())
    object.refuse("days", "empty", "no day is listed, so no date could pass", "list the days, or leave `days` out for any day");
  for (std::size_t i = 0; i < days->size(); ++i) {
    const std::string pointer = pointer_to(object.at("days"), i);
    const auto* word = (*days)[i].if_string();
    const auto known = std::find(kDays.begin(), kDays.end(), word ? std::string_view(*word) : std::string_view());
    if (known == kDays.end()) {
      object.mistakes().push_back({ErrorKind::invalid, "unknown_word", pointer, fmt::format("{} is not a day", shown((*days)[i])),
                                   fmt::format("write one of {}", fmt::join(kDays, ", "))});
    } else if (const auto index = static_cast<std::size_t>(known - kDays.begin()); index == kHoliday) {
      prescription.holidays_pass = true;
    } else {
      prescription.weekdays.set(index);
    }
  }
}

std::optional<month_day> day_of_year(JsonObject& span, std::string_view name) {
  if (!span.require(name, "write month and day such as 03-01")) return std::nullopt;
  const auto text = span.text(name);
  if (!text) return std::nullopt;
  const auto day = parse_month_day(*text);
  if (!day)
    span.refuse(name, "not_a_date", fmt::format("\"{}\" is not a day of the year", *text), "write month and day such as 03-01");
  return day;
}

void read_seasons(JsonObject& object, Prescription& prescription) {
  const json::array* seasons = object.list("season");
  for (std::size_t i = 0; seasons && i < seasons->size(); ++i) {
    JsonObject span((*seasons)[i], pointer_to(object.at("season"), i), object.mistakes());
    const auto from = day_of_year(span, "from"), to = day_of_year(span, "to");
    if (from && to) prescription.seasons.push_back({*from, *to});
    span.refuse_unknown_members();
  }
}

void read_closed(JsonObject& object, Prescription& prescription) {
  const json::array* closed = object.list("closed");
  for (std::size_t i = 0; closed && i < closed->size(); ++i) {
    JsonObject span((*closed)[i], pointer_to(object.at("closed"), i), object.mistakes());
    span.require("from", "write a date such as 2027-04-03");
    span.require("to", "write a date such as 2027-04-03; both are included");
    const auto from = span.date("from"), to = span.date("to");
    const std::string why = span.text("why").value_or("");
    if (from && to && *from > *to)
      span.refuse("from", "reversed", fmt::format("from {} is after to {}", *span.text("from"), *span.text("to")),
                  "put the earlier date first");
    if (from && to) prescription.closed.push_back({*from, *to, why});
    span.refuse_unknown_members();
  }
}

minutes length_of(const core::ClockSpan& span) {
  return span.to > span.from ? span.to - span.from : span.to - span.from + hours(24);
}

void read_within(JsonObject& object, Prescription& prescription) {
  if (const json::value* value = object.find("within")) {
    JsonObject within(*value, object.at("within"), object.mistakes());
    within.require("from", "write a clock time such as 09:00");
    within.require("to", "write a clock time such as 18:00; at or before `from` it is on the next date");
    const auto from = within.clock("from"), to = within.clock("to");
    if (from && *from == hours(24))
      within.refuse("from", "out_of_range", "from is 24:00, which is the next date", "write 00:00");
    else if (from && to)
      prescription.within = core::ClockSpan{*from, *to};
    within.refuse_unknown_members();
  }
  prescription.latest_start = object.clock("latest_start");
  if (prescription.within && prescription.latest_start) {
    minutes into = *prescription.latest_start - prescription.within->from;
    if (into < minutes(0)) into += hours(24);
    if (into > length_of(*prescription.within))
      object.refuse("latest_start", "contradictory",
                    fmt::format("latest_start {} is outside within", *object.text("latest_start")),
                    "write a clock time inside within, or leave it out");
  }
}

void read_duration(JsonObject& object, Prescription& prescription) {
  const auto duration = object.number("duration_h", {0, 48});
  if (!duration) return;
  if (*duration <= 0) {
    object.refuse("duration_h", "out_of_range", "the duration is zero", "write the hours a burn needs, such as 5");
    return;
  }
  prescription.duration_h = *duration;
  const double longest = static_cast<double>(length_of(prescription.within.value_or(core::ClockSpan{})).count()) / 60;
  // The night the clocks go back has an hour more than its clock times say.
  if (*duration > longest + 1)
    object.refuse("duration_h", "longer_than_within", fmt::format("{} h do not fit into the {} h of within", *duration, longest),
                  "shorten the duration or widen within");
}

void read_confirmation(JsonObject& object, Prescription& prescription) {
  const json::value* value = object.find("confirmed");
  if (!value) return;
  JsonObject confirmed(*value, object.at("confirmed"), object.mistakes());
  if (confirmed.require("by", "name the officer who confirmed it, or leave `confirmed` out") && confirmed.text("by") == "")
    confirmed.refuse("by", "required", "by is empty", "name the officer who confirmed it, or leave `confirmed` out");
  confirmed.require("at", "write when it was confirmed, or leave `confirmed` out");
  prescription.confirmed = confirmed.instant("at").has_value();
  confirmed.refuse_unknown_members();
}

}  // namespace

Prescription read_prescription(const json::value& value, const std::string& pointer, Errors& mistakes) {
  Prescription prescription;
  JsonObject object(value, pointer, mistakes);
  object.require("limits", "list the limits; an empty list is accepted and leaves every day unknown");
  if (const json::array* limits = object.list("limits")) {
    for (std::size_t i = 0; i < limits->size(); ++i)
      prescription.limits.push_back(read_limit((*limits)[i], pointer_to(object.at("limits"), i), mistakes));
    refuse_contradictions(prescription.limits, object.at("limits"), mistakes);
  }
  read_within(object, prescription);
  read_duration(object, prescription);
  prescription.consecutive_days = object.whole_number("consecutive_days", 1, 31).value_or(1);
  read_days(object, prescription);
  read_seasons(object, prescription);
  read_closed(object, prescription);
  prescription.wind_for_direction_kmh = object.number("wind_for_direction_kmh", {0, 100}).value_or(5);
  if (const auto share = object.number("points_share", {0, 1})) {
    if (*share == 0)
      object.refuse("points_share", "out_of_range", "a share of 0 would ask nothing of any point",
                    "write a share above 0 and up to 1");
    prescription.points_share = *share;
  }
  read_confirmation(object, prescription);
  object.refuse_unknown_members();
  return prescription;
}

Result<Prescription> parse_prescription(std::string_view text, const std::string& name) {
  const Result<json::value> document = parse_json(text, name);
  if (!document) return document.errors();
  Errors mistakes;
  Prescription prescription = read_prescription(*document, "", mistakes);
  if (!mistakes.empty()) return mistakes;
  return prescription;
}

}  // namespace hakea::service
