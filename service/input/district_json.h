// A district: what it has to burn with, and what people decided in it: holidays, stops, bookings and notices (members
// `district`, `stops`, `bookings`).
#pragma once

#include <variant>

#include "core/days/evaluate.h"
#include "service/input/means_json.h"
#include "service/input/neighbours.h"
#include "service/input/unit_json.h"

namespace hakea::service {

// A date in the unit's own zone, or an instant.
using StopTime = std::variant<LocalDate, UtcTime>;

struct StopEntry {
  enum class Covers : std::uint8_t { unit, airshed, district } covers = Covers::unit;
  std::string whom;   // id of the unit, airshed or district
  StopTime from, to;  // dates are included; an instant is the end itself
  std::string kind, why;
};

struct Booking {
  std::string unit, state;
  LocalDate date{};
  std::optional<UtcTime> lit_at;
  std::vector<LocalDate> notice_for;
};

// Lit and not yet closed: somebody has to look after it.
bool is_open_burn(const Booking& booking);

// The end of the last local date on which notice of a burn on a date may be given (INTERFACE §3 "Notice").
UtcTime notice_due(const Unit& unit, LocalDate date);
// Whether every burn day that begins on the booking's date is covered.
bool is_notice_given(const Unit& unit, const Booking& booking);

struct District {
  std::string id, name;
  DistrictMeans means;
  std::set<LocalDate> holidays;
  std::vector<StopEntry> stops;
  std::vector<Booking> bookings;
};

// All mistakes together, with pointers.
Result<District> parse_district(std::string_view text, const std::string& name_for_messages = "district");
// The same of a document.
Result<District> district_in(const json::value& document);

// Stops that cover none of the units, which may be the slip of a pen: one line each.
Errors stops_of_nobody(const District& district, const std::vector<Unit>& units);

// What of it bears on a unit. `zone_of` gives the zone of another unit by its id, or null when it is not known here.
core::UnitPlan plan_of(const Unit& unit, const District& district,
                       const std::function<const TimeZone*(const std::string&)>& zone_of, const Neighbours& neighbours);

}  // namespace hakea::service
