#include "service/ogc/parameters.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/output/day_json.h"

namespace hakea::service {
namespace {

constexpr std::string_view kUcum = "http://www.opengis.net/def/uom/UCUM/";

struct UnitName {
  std::string_view ucum, name;
};
constexpr std::array<UnitName, 16> kUnitNames{{{"1", "number"},
                                               {"%", "per cent"},
                                               {"Cel", "degree Celsius"},
                                               {"K/km", "kelvin per kilometre"},
                                               {"W/m2", "watt per square metre"},
                                               {"d", "day"},
                                               {"deg", "degree"},
                                               {"h", "hour"},
                                               {"hPa", "hectopascal"},
                                               {"kW/m", "kilowatt per metre"},
                                               {"km/h", "kilometre per hour"},
                                               {"m", "metre"},
                                               {"m/h", "metre per hour"},
                                               {"m2/s", "square metre per second"},
                                               {"mm", "millimetre"},
                                               {"ug/m3", "microgram per cubic metre"}}};

struct Category {
  core::Fit fit;
  std::string_view label;
};
constexpr std::array<Category, 3> kCategories{{{core::Fit::out, "outside the prescription"},
                                               {core::Fit::in, "inside the prescription"},
                                               {core::Fit::unknown, "cannot be judged: something is missing"}}};

struct Meaning {
  std::string_view method, duration, text;  // CF cell method, ISO 8601
};
Meaning meaning_of(core::Nature nature) {
  using enum core::Nature;
  switch (nature) {
    case amount: return {"sum", "PT1H", "Amount of the hour that starts at the time."};
    case extreme: return {"maximum", "PT1H", "Highest of the hour that starts at the time."};
    case daily: return {"point", "PT0S", "Once a day: stands from 09:00 local standard time until the next."};
    case daily_noon: return {"point", "PT0S", "Once a day: stands from noon of local standard time until the next."};
    case instant:
    case state: break;
  }
  return {"point", "PT0S", "At the time, the start of its hour."};
}

void write_label(JsonWriter& out, std::string_view name, std::string_view label, Labels labels) {
  if (labels == Labels::plain)
    out.text(name, label);
  else
    out.key(name).begin_object().text("en", label).end_object();
}

std::string concept_of(std::string_view origin, std::string_view key) {
  return fmt::format("{}/api/v1/quantities#{}", origin, key);
}

}  // namespace

std::string_view unit_name(std::string_view ucum) {
  const auto found = std::find_if(kUnitNames.begin(), kUnitNames.end(), [&](const UnitName& unit) { return unit.ucum == ucum; });
  return found == kUnitNames.end() ? ucum : found->name;
}

int category_of(core::Fit fit) {
  const auto found = std::find_if(kCategories.begin(), kCategories.end(), [&](const Category& c) { return c.fit == fit; });
  return static_cast<int>(found - kCategories.begin());
}

void write_parameter(JsonWriter& out, const core::QuantityRow& row, Labels labels, std::string_view origin) {
  const Meaning meaning = meaning_of(row.nature);
  out.key(row.key).begin_object().text("type", "Parameter").text("id", row.key);
  std::string description(meaning.text);
  if (row.status == core::Status::provisional) description += " Provisional: the model has not been checked against its source.";
  write_label(out, "description", description, labels);
  if (labels == Labels::plain) out.text("data-type", "float");
  out.key("observedProperty").begin_object();
  out.text("id", row.standard_name.empty() ? concept_of(origin, row.key)
                                           : fmt::format("http://vocab.nerc.ac.uk/standard_name/{}/", row.standard_name));
  write_label(out, "label", row.title, labels);
  out.end_object().key("unit").begin_object();
  write_label(out, "label", unit_name(row.unit), labels);
  out.key("symbol").begin_object().text("value", row.unit).text("type", kUcum).end_object().end_object();
  if (labels == Labels::plain)
    out.key("measurementType").begin_object().text("method", meaning.method).text("duration", meaning.duration).end_object();
  out.end_object();
}

void write_fit_parameter(JsonWriter& out, Labels labels, std::string_view origin) {
  const std::string concept_uri = concept_of(origin, kFitParameter);
  const auto id_of = [&](const Category& category) { return fmt::format("{}-{}", concept_uri, word(category.fit)); };
  out.key(kFitParameter).begin_object().text("type", "Parameter").text("id", kFitParameter);
  write_label(out, "description", "Whether the hour is inside every limit of the unit's prescription that is asked of each hour.",
              labels);
  if (labels == Labels::plain) out.text("data-type", "integer");
  out.key("observedProperty").begin_object().text("id", concept_uri);
  write_label(out, "label", "Fit of the hour to the unit's prescription", labels);
  out.key("categories").begin_list();
  for (const Category& category : kCategories) {
    out.begin_object().text("id", id_of(category));
    write_label(out, "label", category.label, labels);
    out.end_object();
  }
  out.end_list().end_object().key("categoryEncoding").begin_object();
  for (const Category& category : kCategories) out.whole(id_of(category), category_of(category.fit));
  out.end_object().end_object();
}

}  // namespace hakea::service
