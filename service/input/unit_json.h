// Burn units as people write them: GeoJSON Features (RFC 7946) with the members of INTERFACE §2.
#pragma once

#include <array>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "core/plan/means.h"
#include "core/prescription/prescription.h"
#include "service/input/fuel_table.h"
#include "service/input/json.h"

namespace hakea::service {

struct Position {
  double longitude_deg = 0, latitude_deg = 0;
};
using Ring = std::vector<Position>;

// [longitude, latitude]; anything else is a mistake.
std::optional<Position> read_position(const json::value& value, const std::string& pointer, Errors& mistakes);

struct Geometry {
  std::string type;                         // Point, Polygon or MultiPolygon
  Position point;                           // of a Point
  std::vector<std::vector<Ring>> polygons;  // each an outer ring and its holes

  Position centroid() const;
};

struct AfterUnit {
  std::string unit;
  int days = 0;
};

struct Receptor {
  std::string name, kind;
  Position position;
};

struct Unit {
  std::string id, name, district;
  Geometry geometry;
  std::optional<double> area_ha;
  core::UnitTraits traits;               // of the unit as a whole, at its centroid
  std::vector<core::UnitTraits> points;  // where its weather is taken; at least one
  std::string status = "ready";
  int priority = 3;
  std::vector<std::string> adjacent;
  std::vector<AfterUnit> after;
  std::vector<Receptor> receptors;
  core::Needs needs;
  int notice_days = 0;
  std::string airshed;
  core::Prescription prescription;
  std::map<std::string, core::Prescription> prescriptions;  // others, by name
  std::optional<core::WetnessState> initial_state;
};

// Makes a prescription the one that the unit is judged by; its duration is how long the unit burns.
void give_prescription(Unit& unit, core::Prescription prescription);

// Takes the prescriptions out of a Feature, by name, "main" first: the service keeps them as entries of their own.
std::vector<std::pair<std::string, json::value>> take_prescriptions(json::object& feature);

// A Feature or a FeatureCollection. All mistakes together, with pointers into the document; `fuels` names the known types.
Result<std::vector<Unit>> parse_units(std::string_view text, const FuelTable& fuels,
                                      const std::string& name_for_messages = "units");
// Whether a text of units says how old some fuel was on a date, so that its units are others at another time.
bool tells_age_of_a_date(std::string_view text);
// The same at a time: fuel whose age is of a date (age_as_of, which an outcome writes) is older by what has passed since.
Result<std::vector<Unit>> parse_units_at(UtcTime now, std::string_view text, const FuelTable& fuels,
                                         const std::string& name_for_messages = "units");

}  // namespace hakea::service
