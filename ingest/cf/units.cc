#include "ingest/cf/units.h"

#include <udunits2.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <mutex>
#include <utility>

#include "core/base/words.h"
#include "core/weather/elevation.h"

namespace hakea::ingest {
namespace {

using core::Fed;

// Spellings of weather files that UDUNITS cannot read, or reads as something else (kt: kilotonne, mb: millibarn, C: coulomb).
// Those marked with a dimension hold only where that dimension is wanted.
struct Alias {
  std::string_view spelling, unit, dimension;
};
constexpr std::array kAliases{
    Alias{"gpm", "m", ""},
    Alias{"gp m", "m", ""},
    Alias{"geopotential meter", "m", ""},
    Alias{"geopotential metre", "m", ""},
    Alias{"m of water equivalent", "m", ""},
    Alias{"m of water", "m", ""},
    Alias{"mm of water", "mm", ""},
    Alias{"C", "degC", "temperature"},
    Alias{"deg C", "degC", "temperature"},
    Alias{"degrees C", "degC", "temperature"},
    Alias{"degree C", "degC", "temperature"},
    Alias{"F", "degF", "temperature"},
    Alias{"deg F", "degF", "temperature"},
    Alias{"kt", "knot", "speed"},
    Alias{"kph", "km/h", "speed"},
    Alias{"kmh", "km/h", "speed"},
    Alias{"kmh-1", "km/h", "speed"},
    Alias{"mph", "mile/hour", "speed"},
    Alias{"ms-1", "m/s", "speed"},
    Alias{"mb", "mbar", "pressure"},
    Alias{"Wm-2", "W/m2", ""},
    Alias{"Jm-2", "J/m2", ""},
    Alias{"okta", "0.125", "ratio"},
    Alias{"oktas", "0.125", "ratio"},
    Alias{"octa", "0.125", "ratio"},
    Alias{"eighths", "0.125", "ratio"},
};

// Spellings that look like a slip; the right word is offered, never taken.
struct Slip {
  std::string_view spelling, meant;
};
constexpr std::array kSlips{Slip{"kevin", "kelvin"}, Slip{"celcius", "celsius"}, Slip{"farenheit", "fahrenheit"},
                            Slip{"pascals", "Pa"}};

// Ways to say "a pure number" or nothing at all.
constexpr std::array<std::string_view, 8> kFractions{"", "1", "0-1", "(0 - 1)", "(0-1)", "0 - 1", "fraction", "unitless"};

struct FreeUnit {
  void operator()(ut_unit* u) const { ut_free(u); }
};
using Unit = std::unique_ptr<ut_unit, FreeUnit>;

std::mutex& guard() {
  static std::mutex mutex;
  return mutex;
}

ut_system* units_known() {
  static ut_system* const system = [] {
    ut_set_error_message_handler(ut_ignore);
    return ut_read_xml(nullptr);
  }();
  return system;
}

// A unit as files write it, which may end its line.
std::string without_blanks(std::string_view unit) { return std::string(trimmed(unit, " \t\n\r")); }

Unit parse(const std::string& text) {
  if (text.empty() || text.find('@') != std::string::npos || text.find("since") != std::string::npos) return nullptr;
  // UDUNITS prints a line's end that it meets inside a unit to standard output.
  if (text.find_first_of("\n\r") != std::string::npos) return nullptr;
  return Unit(ut_parse(units_known(), text.c_str(), UT_UTF8));
}

std::string_view dimension_of(Fed fed) {
  switch (fed) {
    case Fed::air_temperature:
    case Fed::dew_point_temperature:
    case Fed::level_temperature:
    case Fed::level_dew_point_temperature: return "temperature";
    case Fed::relative_humidity:
    case Fed::level_relative_humidity:
    case Fed::cloud_area_fraction:
    case Fed::land_area_fraction: return "ratio";
    case Fed::wind_speed:
    case Fed::eastward_wind:
    case Fed::northward_wind:
    case Fed::x_wind:
    case Fed::y_wind:
    case Fed::wind_gust:
    case Fed::level_eastward_wind:
    case Fed::level_northward_wind:
    case Fed::level_x_wind:
    case Fed::level_y_wind: return "speed";
    case Fed::surface_pressure: return "pressure";
    default: return "";
  }
}

std::string with_alias(std::string text, std::string_view dimension) {
  for (const Alias& a : kAliases)
    if (a.spelling == text && (a.dimension.empty() || a.dimension == dimension)) return std::string(a.unit);
  return text;
}

std::optional<LinearConversion> linear(const ut_unit* from, const ut_unit* to) {
  if (!from || !to || !ut_are_convertible(from, to)) return std::nullopt;
  const std::unique_ptr<cv_converter, decltype(&cv_free)> converter(
      ut_get_converter(const_cast<ut_unit*>(from), const_cast<ut_unit*>(to)), &cv_free);
  if (!converter) return std::nullopt;
  const double at_zero = cv_convert_double(converter.get(), 0.0);
  const double at_one = cv_convert_double(converter.get(), 1.0);
  if (!std::isfinite(at_zero) || !std::isfinite(at_one)) return std::nullopt;
  // A large step keeps the digits of the factor when the offset is large.
  const double factor = (cv_convert_double(converter.get(), 1048576.0) - at_zero) / 1048576.0;
  // Beside a large offset a tiny unit ("yCelsius") loses its factor altogether.
  if (!std::isnormal(factor)) return std::nullopt;
  return std::abs((at_one - at_zero) - factor) < 1e-6 * std::max(1.0, std::abs(factor))
             ? std::optional(LinearConversion{factor, at_zero})
             : std::nullopt;
}

std::optional<LinearConversion> linear(const ut_unit* from, std::string_view to) {
  return linear(from, parse(std::string(to)).get());
}

bool is_fraction_wanted(Fed fed) {
  return fed == Fed::relative_humidity || fed == Fed::level_relative_humidity || fed == Fed::cloud_area_fraction ||
         fed == Fed::land_area_fraction;
}

// The units that a quantity may come in, by example, for the hint.
std::string accepted_units(Fed wanted) {
  switch (wanted) {
    case Fed::precipitation_amount: return "mm, m, kg m-2, mm h-1 or kg m-2 s-1";
    case Fed::shortwave_radiation: return "W m-2 or J m-2";
    case Fed::level_height:
    case Fed::surface_altitude: return "m, gpm or m2 s-2";
    case Fed::air_temperature:
    case Fed::dew_point_temperature:
    case Fed::level_temperature:
    case Fed::level_dew_point_temperature: return "K, degC or degF";
    case Fed::relative_humidity:
    case Fed::level_relative_humidity:
    case Fed::cloud_area_fraction: return "% or 1";
    default: return "a unit convertible to " + std::string(core::describe(wanted).unit);
  }
}

Error refusal(Fed wanted, std::string code, std::string what, std::string extra = {}) {
  const auto& row = core::describe(wanted);
  return {ErrorKind::invalid, std::move(code), std::string(row.key), std::move(what),
          extra + "accepted for " + std::string(row.key) + ": " + accepted_units(wanted)};
}

}  // namespace

std::optional<LinearConversion> convert_units(std::string_view from, std::string_view to) {
  const std::lock_guard lock(guard());
  const Unit wanted = parse(without_blanks(to)), pressure = parse("Pa");
  const bool is_pressure = wanted && pressure && ut_are_convertible(wanted.get(), pressure.get());
  const Unit given = parse(with_alias(without_blanks(from), is_pressure ? "pressure" : ""));
  return linear(given.get(), wanted.get());
}

Result<UnitConversion> conversion_to(Fed wanted, std::string_view unit) {
  const std::lock_guard lock(guard());
  const auto& row = core::describe(wanted);
  std::string text = without_blanks(unit);
  if (is_fraction_wanted(wanted) && std::find(kFractions.begin(), kFractions.end(), text) != kFractions.end())
    return UnitConversion{1, 0, UnitForm::fraction, {}};
  if (text.empty() || text == "-") return refusal(wanted, "no_unit", "states no unit");
  text = with_alias(text, dimension_of(wanted));

  const Unit from = parse(text);
  if (!from) {
    for (const Slip& slip : kSlips)
      if (lower(text) == slip.spelling)
        return refusal(wanted, "unknown_unit", "has the unknown unit \"" + text + "\"",
                       "did the file mean " + std::string(slip.meant) + "? ");
    return refusal(wanted, "unknown_unit", "has the unknown unit \"" + text + "\"");
  }
  const auto plain = [&](std::string_view to, double extra = 1) -> std::optional<UnitConversion> {
    if (const auto c = linear(from.get(), to)) return UnitConversion{c->factor * extra, c->offset * extra, UnitForm::plain, {}};
    return std::nullopt;
  };

  if (wanted == Fed::precipitation_amount) {
    // 1 kg m-2 of water stands 1 mm deep.
    if (auto c = plain("mm")) return *c;
    if (auto c = plain("kg m-2")) return *c;
    if (auto c = plain("mm h-1")) return UnitConversion{c->factor, c->offset, UnitForm::rate, {}};
    if (auto c = plain("kg m-2 h-1")) return UnitConversion{c->factor, c->offset, UnitForm::rate, {}};
  } else if (wanted == Fed::shortwave_radiation) {
    if (auto c = plain("W m-2")) return *c;
    if (auto c = plain("J m-2")) return UnitConversion{c->factor, c->offset, UnitForm::energy, {}};
  } else if (wanted == Fed::level_height || wanted == Fed::surface_altitude) {
    if (auto c = plain("m")) return *c;
    if (auto c = plain("m2 s-2", 1 / core::kGravity)) {
      c->note = "geopotential divided by 9.80665 m s-2";
      return *c;
    }
  } else if (auto c = plain(row.unit)) {
    return *c;
  }
  return refusal(wanted, "unit_mismatch", "is in \"" + without_blanks(unit) + "\", which cannot be " + std::string(row.unit));
}

UnitConversion settle_fraction(Fed wanted, double largest) {
  const bool percent_wanted = wanted != Fed::land_area_fraction;
  const bool is_fraction = !(largest > 1.5);
  UnitConversion c;
  c.factor = percent_wanted == is_fraction ? (percent_wanted ? 100.0 : 0.01) : 1.0;
  c.note = is_fraction ? "read as a fraction of 1" : "the unit says a fraction, but values exceed 1.5: read as percent";
  return c;
}

}  // namespace hakea::ingest
