#include "tests/support/sounding.h"

#include <cmath>
#include <fstream>
#include <numbers>
#include <stdexcept>

#include "core/weather/humidity.h"
#include "tests/support/case_file.h"

namespace hakea::test {

SoundingTable read_sounding(const std::string& name) {
  const std::string path = tests_folder() + "/cases/soundings/" + name + ".csv";
  std::ifstream in(path);
  if (!in) throw std::runtime_error("cannot read " + path);
  SoundingTable table;
  std::vector<std::string> header;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#') continue;
    const auto fields = split_csv(line);
    if (header.empty()) {
      header = fields;
      continue;
    }
    if (fields.size() != header.size()) throw std::runtime_error(path + ": a row has another number of columns: " + line);
    for (std::size_t i = 0; i < fields.size(); ++i)
      table[header[i]].push_back(fields[i].empty() ? std::nan("") : std::stod(fields[i]));
  }
  return table;
}

GroundAndLevels ground_and_levels(const SoundingTable& table, bool dry) {
  const auto& p = table.at("pressure_hpa");
  std::size_t ground = 0;
  while (std::isnan(table.at("temperature_c")[ground])) ++ground;
  const auto value = [&](const char* name, std::size_t i) { return table.contains(name) ? table.at(name)[i] : std::nan(""); };
  GroundAndLevels made;
  made.surface = {.temperature = Celsius(value("temperature_c", ground)),
                  .dew_point = Celsius(dry ? std::nan("") : value("dew_point_c", ground)),
                  .pressure = Hectopascals(p[ground]),
                  .wind_speed = to<KilometresPerHour>(MetresPerSecond(value("wind_kt", ground) * 0.514444)),
                  .wind_from_direction = Degrees(value("wind_from_deg", ground)),
                  .cloud = {},
                  .solar_elevation = {},
                  .latitude = {},
                  .model_mixing_height = {}};
  for (std::size_t i = 0; i < p.size(); ++i) {
    if (i == ground) continue;
    const double angle = value("wind_from_deg", i) * std::numbers::pi / 180, speed = value("wind_kt", i) * 0.514444;
    made.levels.push_back({p[i], value("height_asl_m", i) - value("height_asl_m", ground), value("temperature_c", i),
                           dry ? std::nan("") : core::saturation_vapour_pressure(Celsius(value("dew_point_c", i))).value(),
                           -speed * std::sin(angle), -speed * std::cos(angle)});
  }
  return made;
}

core::AirColumn column_of(const SoundingTable& table, bool dry) {
  core::AirColumn column;
  if (table.contains("pressure_hpa")) {
    const GroundAndLevels made = ground_and_levels(table, dry);
    if (const auto fault = core::prepare(made.levels, made.surface, column); fault != core::ColumnFault::none)
      throw std::runtime_error("the sounding cannot be used: " + std::string(core::word(fault)));
    return column;
  }
  column.height_m = table.at("height_m");
  column.theta_v_k = table.at("theta_v_k");
  column.u_ms = table.at("u_ms");
  column.v_ms = table.at("v_ms");
  return column;
}

}  // namespace hakea::test
