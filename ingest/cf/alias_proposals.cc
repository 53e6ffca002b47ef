#include "ingest/cf/alias_proposals.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <initializer_list>
#include <utility>

#include "core/base/words.h"
#include "ingest/cf/units.h"

namespace hakea::ingest {
namespace {

using core::Fed;

// The words of a name and its descriptions, in lower case: "wspd_arith_mean" and "Wind speed" are wspd, arith, mean, wind, speed.
std::set<std::string> words_of(const Variable& v) {
  std::set<std::string> words;
  std::string word;
  for (const char c : base_name(v.name) + " " + v.text("long_name") + " " + v.text("standard_name") + " ") {
    if (std::isalnum(static_cast<unsigned char>(c))) {
      word += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    } else if (!word.empty()) {
      words.insert(std::exchange(word, {}));
    }
  }
  return words;
}

// Begins of words (whole words, of two letters) that speak for a quantity, and of those that speak against it.
struct Clue {
  Fed fed;
  std::initializer_list<std::string_view> any_of, none_of;
};

const std::array kClues{
    Clue{Fed::dew_point_temperature, {"dew", "dp", "td"}, {"depression"}},
    Clue{Fed::air_temperature,
         {"temp", "tdry", "tair", "tas", "t2"},
         {"dew", "sea", "soil", "skin", "brightness", "logger", "std", "error", "potential", "virtual", "surface", "max", "min"}},
    Clue{Fed::relative_humidity, {"rh", "hum", "hur"}, {"spec", "std"}},
    Clue{Fed::wind_gust, {"gust"}, {}},
    Clue{Fed::wind_from_direction, {"wdir", "dir", "winddir"}, {"std"}},
    Clue{Fed::x_wind, {"xcomp", "xwind"}, {"vertical"}},
    Clue{Fed::y_wind, {"ycomp", "ywind"}, {"vertical"}},
    Clue{Fed::eastward_wind, {"u", "east", "ugrd"}, {"vertical"}},
    Clue{Fed::northward_wind, {"v", "north", "vgrd"}, {"vertical"}},
    Clue{Fed::wind_speed, {"wspd", "wind", "ws", "windspeed", "ff"}, {"u", "v", "x", "y", "vertical", "std", "gust", "dir"}},
    Clue{Fed::precipitation_amount, {"rain", "prec", "pr", "tp"}, {"water", "probability", "code", "snow", "std"}},
    Clue{Fed::mixing_height, {"boundary", "mixing", "mixed", "pbl", "hpbl", "blh"}, {"scheme"}},
    Clue{Fed::surface_pressure, {"pres", "atmos", "sp", "baro"}, {"sea", "msl", "vapor", "vapour", "level", "std"}},
    Clue{Fed::shortwave_radiation, {"shortwave", "solar", "global"}, {"net", "up", "out", "reflected"}},
    Clue{Fed::cloud_area_fraction, {"cloud"}, {"water", "base", "top", "height", "ice"}},
};

// A pressure in a name, as in "winds_300".
bool is_of_a_level(const std::string& word) {
  return word.size() >= 3 && std::all_of(word.begin(), word.end(), [](char c) { return c >= '0' && c <= '9'; });
}

bool begins(const std::set<std::string>& words, std::initializer_list<std::string_view> stems) {
  return std::any_of(words.begin(), words.end(), [&](const std::string& word) {
    return std::any_of(stems.begin(), stems.end(),
                       [&](std::string_view stem) { return stem.size() <= 2 ? word == stem : word.starts_with(stem); });
  });
}

}  // namespace

std::vector<AliasProposal> alias_proposals(const NetcdfFile& file, const FileCoordinates& coordinates, const std::set<Fed>& given,
                                           const std::set<std::string>& known) {
  std::vector<AliasProposal> proposals;
  std::set<Fed> taken = given;
  for (std::size_t i = 0; i < file.variables().size(); ++i) {
    const Variable& v = file.variables()[i];
    const std::string name = lower(base_name(v.name));
    if (v.type == ValueType::text || v.type == ValueType::other || !v.unreadable.empty() || v.dimensions.empty() ||
        coordinates.is_coordinate(i) || name.starts_with("qc_") || v.attribute("flag_values") || v.attribute("flag_masks"))
      continue;
    const auto words = words_of(v);
    if (std::any_of(words.begin(), words.end(), is_of_a_level) || known.contains(v.name) ||
        coordinates.vertical(i).kind == VerticalCoordinate::Kind::pressure)
      continue;
    for (const Clue& clue : kClues) {
      if (!begins(words, clue.any_of) || begins(words, clue.none_of)) continue;
      // A unit of another kind speaks against it; none at all has to be given.
      const std::string unit = unit_text(v);
      const bool is_stated = !unit.empty() && unit != "1" && unit != "none" && unit != "-";
      if (is_stated && !conversion_to(clue.fed, unit)) continue;
      if (taken.insert(clue.fed).second) {
        const auto& row = core::describe(clue.fed);
        const bool does = static_cast<bool>(conversion_to(clue.fed, unit));
        proposals.push_back({base_name(v.name), std::string(row.key) + (does ? "" : fmt::format(" [{}]", row.unit))});
      }
      break;
    }
  }
  return proposals;
}

std::string as_toml(const std::vector<AliasProposal>& proposals) {
  std::vector<std::string> entries;
  for (const AliasProposal& p : proposals) entries.push_back(fmt::format("\"{}\" = \"{}\"", p.variable, p.alias));
  return fmt::format("aliases = {{ {} }}", fmt::join(entries, ", "));
}

std::string unit_that_fits(Fed fed, double number) {
  const auto& row = core::describe(fed);
  for (const char* unit : {"K", "degC", "degF", "Pa", "hPa", "kPa", "%", "m s-1", "km h-1", "kt", "mm", "m", "W m-2"}) {
    const auto to = conversion_to(fed, unit);
    if (!to || to->form != UnitForm::plain) continue;
    const double x = number * to->factor + to->offset;
    if (x >= row.lowest && x <= row.highest) return unit;
  }
  return {};
}

}  // namespace hakea::ingest
