#include "service/input/district_json.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "service/input/entry_words.h"

namespace hakea::service {
namespace {

constexpr std::array<std::string_view, 4> kStopKinds{"declared_ban", "event", "period", "other"};
constexpr std::array<std::string_view, 7> kBookingStates{"draft", "committed", "stood_down", "lit", "mop_up", "patrol", "closed"};
constexpr std::array<std::string_view, 3> kCovers{"unit", "airshed", "district"};

void read_holidays(JsonObject& district, District& read) {
  const json::array* holidays = district.list("holidays");
  for (std::size_t i = 0; holidays && i < holidays->size(); ++i) {
    JsonObject holiday((*holidays)[i], pointer_to(district.at("holidays"), i), district.mistakes());
    holiday.require("from", "write a date such as 2027-04-02");
    holiday.require("to", "write a date such as 2027-04-18; both are included");
    holiday.ignore({"name"});
    const auto from = holiday.date("from"), to = holiday.date("to");
    if (from && to && *from > *to)
      holiday.refuse("from", "reversed", "from is after to", "put the earlier date first");
    else if (from && to && *to - *from > std::chrono::days(366))
      holiday.refuse("to", "out_of_range", "the holiday is longer than a year", "check the dates");
    else if (from && to)
      for (LocalDate date = *from; date <= *to; date += std::chrono::days(1)) read.holidays.insert(date);
    holiday.refuse_unknown_members();
  }
}

std::optional<StopTime> read_stop_time(JsonObject& stop, std::string_view name) {
  if (!stop.require(name, "write a date, included, or a time with its offset")) return std::nullopt;
  const auto text = stop.text(name);
  if (!text) return std::nullopt;
  if (const auto date = parse_date(*text)) return StopTime(*date);
  if (const auto instant = stop.instant(name)) return StopTime(*instant);
  return std::nullopt;
}

// Whether a stop ends before it begins, wherever on earth its dates are taken.
bool is_reversed(const StopTime& from, const StopTime& to) {
  constexpr std::chrono::hours kFurthestEast(14), kFurthestWest(12);
  const auto is_date = [](const StopTime& time) { return std::holds_alternative<LocalDate>(time); };
  if (is_date(from) && is_date(to)) return std::get<LocalDate>(from) > std::get<LocalDate>(to);
  const auto midnight = [](LocalDate date) { return UtcTime(date.time_since_epoch()); };
  const UtcTime begin = is_date(from) ? midnight(std::get<LocalDate>(from)) - kFurthestEast : std::get<UtcTime>(from);
  const UtcTime end =
      is_date(to) ? midnight(std::get<LocalDate>(to) + std::chrono::days(1)) + kFurthestWest : std::get<UtcTime>(to);
  return begin >= end;
}

void read_stop(const json::value& value, const std::string& pointer, District& read, Errors& mistakes) {
  StopEntry entry;
  JsonObject stop(value, pointer, mistakes);
  stop.ignore({"id", "by", "lifted"});
  if (stop.require("scope", "name the unit, airshed or district")) {
    JsonObject scope(*stop.find("scope"), stop.at("scope"), mistakes);
    int named = 0;
    for (std::size_t i = 0; i < kCovers.size(); ++i)
      if (const auto whom = scope.text(kCovers[i])) {
        entry.covers = static_cast<StopEntry::Covers>(i);
        entry.whom = *whom;
        ++named;
      }
    if (named != 1)
      stop.refuse("scope", named == 0 ? "required" : "contradictory",
                  fmt::format("the scope names {} of unit, airshed and district", named == 0 ? "none" : "more than one"),
                  "name one of them");
    scope.refuse_unknown_members();
  }
  const auto from = read_stop_time(stop, "from"), to = read_stop_time(stop, "to");
  if (from && to) {
    entry.from = *from;
    entry.to = *to;
    if (is_reversed(*from, *to)) stop.refuse("from", "reversed", "the stop ends before it begins", "put the earlier time first");
  }
  stop.require("kind", fmt::format("write one of {}", fmt::join(kStopKinds, ", ")));
  if (const auto kind = stop.word("kind", kStopKinds)) entry.kind = std::string(kStopKinds[*kind]);
  entry.why = stop.text("why").value_or("");
  stop.refuse_unknown_members();
  read.stops.push_back(std::move(entry));
}

void read_booking(const json::value& value, const std::string& pointer, District& read, Errors& mistakes) {
  Booking entry;
  JsonObject booking(value, pointer, mistakes);
  booking.ignore({"id", "by", "note", "based_on", "day", "steps"});
  booking.require("unit", "write the id of the unit");
  booking.require("date", "write the local date of the booking");
  booking.require("state", fmt::format("write one of {}", fmt::join(kBookingStates, ", ")));
  entry.unit = booking.text("unit").value_or("");
  entry.date = booking.date("date").value_or(LocalDate{});
  if (const auto state = booking.word("state", kBookingStates)) entry.state = std::string(kBookingStates[*state]);
  entry.lit_at = booking.instant("lit_at");
  const json::array* notices = booking.list("notices");
  for (std::size_t i = 0; notices && i < notices->size(); ++i) {
    JsonObject notice((*notices)[i], pointer_to(booking.at("notices"), i), mistakes);
    notice.ignore({"kind", "by"});
    notice.instant("given_at");
    const json::array* dates = notice.list("for");
    for (std::size_t d = 0; dates && d < dates->size(); ++d) {
      const auto* text = (*dates)[d].if_string();
      if (const auto date = text ? parse_date(*text) : std::nullopt)
        entry.notice_for.push_back(*date);
      else
        mistakes.push_back({ErrorKind::invalid, "not_a_date", pointer_to(notice.at("for"), d),
                            fmt::format("{} is not a date", shown((*dates)[d])), "write a date such as 2027-04-02"});
    }
    notice.refuse_unknown_members();
  }
  booking.refuse_unknown_members();
  read.bookings.push_back(std::move(entry));
}

const std::string& name_in(const Unit& unit, StopEntry::Covers covers) {
  return covers == StopEntry::Covers::unit ? unit.id : covers == StopEntry::Covers::airshed ? unit.airshed : unit.district;
}

}  // namespace

Errors stops_of_nobody(const District& district, const std::vector<Unit>& units) {
  Errors idle;
  for (std::size_t i = 0; i < district.stops.size(); ++i) {
    const StopEntry& stop = district.stops[i];
    std::vector<std::string_view> known;
    for (const Unit& unit : units) known.push_back(name_in(unit, stop.covers));
    if (std::find(known.begin(), known.end(), stop.whom) != known.end()) continue;
    const std::string_view near = nearest(stop.whom, known);
    idle.push_back({ErrorKind::invalid, "stop_of_nobody", pointer_to("/stops", i) + "/scope",
                    fmt::format("the stop covers the {} \"{}\", and none of the units is of it",
                                kCovers[static_cast<std::size_t>(stop.covers)], stop.whom),
                    near.empty() ? "check the name; nothing is blocked by it" : fmt::format("did you mean \"{}\"?", near)});
  }
  return idle;
}

Result<District> parse_district(std::string_view text, const std::string& name) {
  const Result<json::value> document = parse_json(text, name);
  if (!document) return document.errors();
  return district_in(*document);
}

Result<District> district_in(const json::value& document) {
  Errors mistakes;
  District read;
  JsonObject file(document, "", mistakes);
  file.ignore({"caution", "now", "later"});
  if (const json::value* value = file.find("district")) {
    JsonObject district(*value, "/district", mistakes);
    district.ignore({"time_zone", "bbox", "digest_hour", "places", "map"});
    read.id = district.text("id").value_or("");
    read.name = district.text("name").value_or(read.id);
    read_means(district, read.means);
    read_holidays(district, read);
    district.refuse_unknown_members();
  }
  if (const json::array* stops = file.list("stops"))
    for (std::size_t i = 0; i < stops->size(); ++i) read_stop((*stops)[i], pointer_to("/stops", i), read, mistakes);
  if (const json::array* bookings = file.list("bookings"))
    for (std::size_t i = 0; i < bookings->size(); ++i) read_booking((*bookings)[i], pointer_to("/bookings", i), read, mistakes);
  file.refuse_unknown_members();
  if (!mistakes.empty()) return mistakes;
  return read;
}

std::span<const std::string_view> booking_states() { return kBookingStates; }

bool is_open_burn(const Booking& booking) {
  return booking.state == "lit" || booking.state == "mop_up" || booking.state == "patrol";
}

UtcTime notice_due(const Unit& unit, LocalDate date) {
  return unit.traits.zone.day_begin(date - std::chrono::days(unit.notice_days) + std::chrono::days(1));
}

bool is_notice_given(const Unit& unit, const Booking& booking) {
  for (int k = 0; k < unit.prescription.consecutive_days; ++k)
    if (std::find(booking.notice_for.begin(), booking.notice_for.end(), booking.date + std::chrono::days(k)) ==
        booking.notice_for.end())
      return false;
  return true;
}

core::UnitPlan plan_of(const Unit& unit, const District& district,
                       const std::function<const TimeZone*(const std::string&)>& zone_of, const Neighbours& neighbours) {
  core::UnitPlan plan;
  plan.status = unit.status;
  plan.priority = unit.priority;
  plan.notice_days = unit.notice_days;
  plan.adjacent = neighbours.of(unit);
  for (const AfterUnit& after : unit.after) plan.after.emplace_back(after.unit, after.days);
  if (district.id.empty() || district.id == unit.district) plan.holidays = district.holidays;

  const TimeZone& zone = unit.traits.zone;
  for (const StopEntry& stop : district.stops) {
    if (name_in(unit, stop.covers) != stop.whom) continue;
    const auto* first = std::get_if<LocalDate>(&stop.from);
    const auto* last = std::get_if<LocalDate>(&stop.to);
    plan.stops.push_back({stop.kind, stop.why, first ? zone.day_begin(*first) : std::get<UtcTime>(stop.from),
                          last ? zone.day_begin(*last + std::chrono::days(1)) : std::get<UtcTime>(stop.to)});
  }

  std::map<std::string_view, UtcTime> last_lit;
  for (const Booking& booking : district.bookings) {
    if (booking.lit_at) {
      const auto [found, is_new] = last_lit.emplace(booking.unit, *booking.lit_at);
      if (!is_new) found->second = std::max(found->second, *booking.lit_at);
    }
    if (booking.unit != unit.id) continue;
    plan.notice_given_for.insert(booking.notice_for.begin(), booking.notice_for.end());
    plan.is_open_burn = plan.is_open_burn || is_open_burn(booking);
  }
  for (const auto& [id, lit_at] : last_lit) {
    const TimeZone* other = zone_of(std::string(id));
    plan.lit.push_back({std::string(id), (other ? *other : zone).date(lit_at)});
  }
  return plan;
}

}  // namespace hakea::service
