#include "core/catalogue/catalogue.h"

#include <string>
#include <unordered_map>

#include "core/base/result.h"
#include "core/base/words.h"

namespace hakea::core {

std::span<const QuantityRow> catalogue() {
  static const std::vector<QuantityRow> rows = [] {
    std::vector<QuantityRow> all;
    for (const auto room : {weather_rows(), wetness_rows(), equilibrium_rows(), moisture_rows(), danger_rows(), fire_rows(),
                            air_rows(), smoke_rows()})
      all.insert(all.end(), room.begin(), room.end());
    return all;
  }();
  return rows;
}

std::optional<std::size_t> find_quantity(std::string_view key) {
  static const std::unordered_map<std::string_view, std::size_t> index = [] {
    std::unordered_map<std::string_view, std::size_t> by_key;
    for (std::size_t i = 0; i < catalogue().size(); ++i) by_key.emplace(catalogue()[i].key, i);
    return by_key;
  }();
  const auto found = index.find(key);
  if (found == index.end()) return std::nullopt;
  return found->second;
}

std::size_t quantity_index(std::string_view key) {
  const auto index = find_quantity(key);
  HAKEA_EXPECT(index.has_value());
  return *index;
}

UnitHours::UnitHours(const UnitTraits& traits, UtcHour first_hour, std::size_t hour_count)
    : unit(&traits), first(first_hour), hours(hour_count), readings(catalogue().size()) {
  static const std::vector<Reason> why_missing = [] {
    std::vector<Reason> by_row;
    for (const QuantityRow& row : catalogue())
      by_row.push_back(row.inputs.find("level_") != std::string_view::npos ? Reason::no_profile : Reason::not_in_feed);
    return by_row;
  }();
  columns.reserve(why_missing.size());
  for (const Reason why : why_missing) columns.emplace_back(hour_count, why);
}

Column& UnitHours::operator[](std::string_view key) { return columns[quantity_index(key)]; }
const Column& UnitHours::operator[](std::string_view key) const { return columns[quantity_index(key)]; }

bool UnitHours::has_readings(std::string_view key) const { return !readings[quantity_index(key)].empty(); }

double UnitHours::reading(std::string_view key, std::size_t i) const {
  const Column& entered = readings[quantity_index(key)];
  return entered.empty() ? std::numeric_limits<double>::quiet_NaN() : static_cast<double>(entered[i]);
}

Rows with_inputs(const Rows& rows) {
  static const std::vector<Rows> needed_by = [] {
    HAKEA_EXPECT(catalogue().size() <= kMostRows);
    std::vector<Rows> needed(catalogue().size());
    for (std::size_t q = 0; q < needed.size(); ++q) {
      const std::string_view inputs = catalogue()[q].compute ? catalogue()[q].inputs : "";
      needed[q].set(q);
      for (const std::string_view name : words(inputs)) {
        const auto input = find_quantity(name);
        if (input && *input < q) needed[q] |= needed[*input];  // what comes later is taken as it was given
      }
    }
    return needed;
  }();
  Rows all;
  for (std::size_t q = 0; q < needed_by.size(); ++q)
    if (rows[q]) all |= needed_by[q];
  return all;
}

Rows with_all_inputs(const Rows& rows) {
  static const std::size_t humidity = quantity_index("relative_humidity"), dew_point = quantity_index("dew_point_temperature");
  Rows all = with_inputs(rows);
  if (all[humidity]) all.set(dew_point);
  return all;
}

std::set<std::string_view> names_behind(const Rows& rows, bool has_levels) {
  std::set<std::string_view> names;
  const auto add = [&](const auto& self, std::string_view name) -> void {
    if (!names.insert(name).second) return;
    const auto q = find_quantity(name);
    if (!q || (!catalogue()[*q].compute && !has_levels)) return;
    for (const std::string_view input : words(catalogue()[*q].inputs)) self(self, input);
  };
  for (std::size_t q = 0; q < catalogue().size(); ++q)
    if (rows[q]) add(add, catalogue()[q].key);
  return names;
}

void compute_all(UnitHours& hours) { compute_all(hours, Rows().set()); }

void compute_all(UnitHours& hours, const Rows& wanted) {
  const Rows needed = with_inputs(wanted);
  for (std::size_t q = 0; q < catalogue().size(); ++q) {
    if (!needed[q]) continue;
    const QuantityRow& row = catalogue()[q];
    if (row.compute) row.compute(hours);
    const Column& entered = hours.readings[q];
    if (entered.empty() || row.nature == Nature::state || row.nature == Nature::daily || row.nature == Nature::daily_noon)
      continue;  // their models take readings in
    for (std::size_t i = 0; i < hours.hours; ++i)
      if (!entered.is_missing(i)) hours.columns[q].set(i, static_cast<double>(entered[i]), flag::kReading);
  }
}

}  // namespace hakea::core
