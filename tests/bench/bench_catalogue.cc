// What the catalogue costs: nanoseconds for each hour of a unit, for everything in it and for the set that the program began
// with, in memory and on one thread. The levels of a run are reduced as they are read and are not part of this.
//
// 10,000 units for 240 hours are 2.4 million unit-hours: 100 ns each are 0.24 s.
#include <benchmark/benchmark.h>

#include <array>

#include "service/input/fuel_table.h"
#include "tests/core/unit_hours_builder.h"

namespace hakea::test {
namespace {

using namespace core;

constexpr std::size_t kHours = 240, kUnits = 64;  // as many units as fit the cache of a run's batch

// What the first release computed.
constexpr std::array<std::string_view, 30> kFirstSet{
    "air_temperature",
    "relative_humidity",
    "dew_point_temperature",
    "vapour_pressure_deficit",
    "wind_speed",
    "wind_from_direction",
    "wind_gust",
    "wind_shift",
    "precipitation_amount",
    "shortwave_radiation",
    "cloud_area_fraction",
    "surface_pressure",
    "in_forest_wind_speed",
    "solar_elevation",
    "hours_since_rain",
    "days_since_rain",
    "kbdi",
    "drought_factor",
    "litter_moisture",
    "litter_moisture_sheltered",
    "litter_moisture_difference",
    "ffdi",
    "rate_of_spread",
    "fireline_intensity",
    "flame_length",
    "flame_height",
    "scorch_height",
    "transport_wind_speed",
    "transport_wind_from_direction",
    "ventilation_index",
};

UnitTraits unit_of(const std::string& fuel) {
  UnitTraits unit = forest_unit();
  unit.fuel = service::built_in_fuels().by_type.at(fuel);
  if (unit.fuel.load.is_missing()) unit.fuel.load = TonnesPerHectare(9);
  if (unit.fuel.curing.is_missing()) unit.fuel.curing = Percent(90);
  if (unit.fuel.height.is_missing()) unit.fuel.height = Metres(0.3);
  return unit;
}

std::vector<UnitHours> hours_of(const UnitTraits& unit) {
  const LocalDate day = date(2027, 3, 30);
  std::vector<UnitHours> all;
  for (std::size_t u = 0; u < kUnits; ++u) {
    all.push_back(fair_hours(unit, nine_on(unit, day), kHours));
    UnitHours& hours = all.back();
    for (std::size_t i = 0; i < kHours; ++i) hours["mixing_height"].set(i, 900);
    enter_state(hours, day);
  }
  return all;
}

void compute(benchmark::State& state, const std::string& fuel, const Rows& wanted) {
  const UnitTraits unit = unit_of(fuel);
  std::vector<UnitHours> hours = hours_of(unit);
  for (auto _ : state)
    for (UnitHours& one : hours) {
      compute_all(one, wanted);
      benchmark::DoNotOptimize(one.columns.back());
    }
  // Printed in seconds with a prefix: "85n" is 85 ns.
  state.counters["unit_hour"] = benchmark::Counter(static_cast<double>(state.iterations()) * kUnits * kHours,
                                                   benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}

Rows first_set() {
  Rows rows;
  for (const std::string_view key : kFirstSet) rows.set(quantity_index(key));
  return rows;
}

[[maybe_unused]] const bool registered = [] {
  for (const char* fuel : {"dry-eucalypt-forest", "grassland", "heath", "fm1"}) {
    benchmark::RegisterBenchmark((std::string(fuel) + "/first set").c_str(), [fuel](benchmark::State& s) {
      compute(s, fuel, first_set());
    })->Unit(benchmark::kMillisecond);
    benchmark::RegisterBenchmark((std::string(fuel) + "/whole catalogue").c_str(), [fuel](benchmark::State& s) {
      compute(s, fuel, Rows().set());
    })->Unit(benchmark::kMillisecond);
  }
  // One row after another, as the whole catalogue needs them: what each adds once its inputs stand.
  for (std::size_t q = 0; q < catalogue().size(); ++q)
    if (catalogue()[q].compute)
      benchmark::RegisterBenchmark(("row/" + std::string(catalogue()[q].key)).c_str(), [q](benchmark::State& s) {
        const UnitTraits unit = unit_of("dry-eucalypt-forest");
        std::vector<UnitHours> hours = hours_of(unit);
        for (UnitHours& one : hours) compute_all(one);
        for (auto _ : s)
          for (UnitHours& one : hours) catalogue()[q].compute(one);
        s.counters["unit_hour"] = benchmark::Counter(static_cast<double>(s.iterations()) * kUnits * kHours,
                                                     benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
      })->Unit(benchmark::kMicrosecond);
  return true;
}();

}  // namespace
}  // namespace hakea::test

BENCHMARK_MAIN();
