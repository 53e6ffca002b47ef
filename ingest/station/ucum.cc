#include "ingest/station/ucum.h"

#include <algorithm>
#include <array>

#include "core/base/numbers.h"

namespace hakea::ingest {
namespace {

// UCUM units of the trade (UCUM 2.1), with what leads to the base of their dimension: base = value * factor + offset.
struct Ucum {
  std::string_view code, dimension;
  double factor, offset;
};
constexpr double kMile = 1609.344, kKnot = 1852.0 / 3600;
constexpr std::array kUnits{
    Ucum{"Cel", "temperature", 1, 0},
    Ucum{"K", "temperature", 1, -273.15},
    Ucum{"[degF]", "temperature", 5.0 / 9, -160.0 / 9},
    Ucum{"%", "ratio", 1, 0},
    Ucum{"km/h", "speed", 1 / 3.6, 0},
    Ucum{"m/s", "speed", 1, 0},
    Ucum{"m.s-1", "speed", 1, 0},
    Ucum{"km.h-1", "speed", 1 / 3.6, 0},
    Ucum{"[kn_i]", "speed", kKnot, 0},
    Ucum{"[mi_i]/h", "speed", kMile / 3600, 0},
    Ucum{"[ft_i]/s", "speed", kFoot, 0},
    Ucum{"m/h", "speed", 1.0 / 3600, 0},
    Ucum{"m/min", "speed", 1.0 / 60, 0},
    Ucum{"[ch_us]/h", "speed", 20.11684023368047 / 3600, 0},
    Ucum{"mm", "length", 1e-3, 0},
    Ucum{"cm", "length", 1e-2, 0},
    Ucum{"m", "length", 1, 0},
    Ucum{"km", "length", 1e3, 0},
    Ucum{"[in_i]", "length", 0.0254, 0},
    Ucum{"[ft_i]", "length", kFoot, 0},
    Ucum{"hPa", "pressure", 100, 0},
    Ucum{"Pa", "pressure", 1, 0},
    Ucum{"kPa", "pressure", 1000, 0},
    Ucum{"mbar", "pressure", 100, 0},
    Ucum{"bar", "pressure", 1e5, 0},
    Ucum{"[in_i'Hg]", "pressure", 3386.389, 0},
    Ucum{"deg", "angle", 1, 0},
    Ucum{"rad", "angle", 57.29577951308232, 0},
    Ucum{"m2/s", "ventilation", 1, 0},
    Ucum{"m2.s-1", "ventilation", 1, 0},
    Ucum{"kW/m", "intensity", 1000, 0},
    Ucum{"W/m", "intensity", 1, 0},
    Ucum{"MW/m", "intensity", 1e6, 0},
    Ucum{"t/har", "load", 1000, 0},
    Ucum{"kg/m2", "load", 10000, 0},
    Ucum{"kg/har", "load", 1, 0},
    Ucum{"W/m2", "flux", 1, 0},
    Ucum{"kW/m2", "flux", 1000, 0},
    Ucum{"h", "time", 3600, 0},
    Ucum{"d", "time", 86400, 0},
    Ucum{"min", "time", 60, 0},
    Ucum{"s", "time", 1, 0},
    Ucum{"ug/m3", "concentration", 1, 0},
    Ucum{"mg/m3", "concentration", 1000, 0},
    Ucum{"K/km", "gradient", 1, 0},
    Ucum{"K/m", "gradient", 1000, 0},
    Ucum{"1", "number", 1, 0},
};

const Ucum* ucum(std::string_view code) {
  const auto found = std::find_if(kUnits.begin(), kUnits.end(), [&](const Ucum& u) { return u.code == code; });
  return found == kUnits.end() ? nullptr : &*found;
}

}  // namespace

std::optional<UcumConversion> convert_ucum(std::string_view from, std::string_view to) {
  if (from == to) return UcumConversion{1, 0};
  const Ucum *a = ucum(from), *b = ucum(to);
  if (!a || !b) return std::nullopt;
  if (a->code == "1" && b->code == "%") return UcumConversion{100, 0};
  if (a->code == "%" && b->code == "1") return UcumConversion{0.01, 0};
  if (a->code == "kg/m2" && b->code == "mm") return UcumConversion{1, 0};
  if (a->dimension != b->dimension) return std::nullopt;
  return UcumConversion{a->factor / b->factor, (a->offset - b->offset) / b->factor};
}

bool is_ucum_unit(std::string_view code) { return ucum(code) != nullptr; }

std::string accepted_ucum_units(std::string_view to) {
  std::string list;
  for (const Ucum& u : kUnits)
    if (convert_ucum(u.code, to)) list += (list.empty() ? "[" : ", [") + std::string(u.code) + "]";
  return list.empty() ? "[" + std::string(to) + "]" : list;
}

}  // namespace hakea::ingest
