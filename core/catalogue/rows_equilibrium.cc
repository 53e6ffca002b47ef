// What air makes of dead fuel, whatever the unit's own fuel is: equilibria, simple measures, and the time-lag classes.
#include <array>

#include "core/catalogue/daily_states.h"
#include "core/catalogue/derive.h"
#include "core/catalogue/hourly_states.h"
#include "core/moisture/equilibrium.h"
#include "core/moisture/simple.h"
#include "core/moisture/time_lag.h"

namespace hakea::core {
namespace {

template <class Measure>
void derive_from_air(UnitHours& hours, std::string_view key, Measure measure) {
  derive(
      hours[key],
      [measure](double t, double h) {
        return measure(AirAndHumidity{Celsius(t), Percent(h)});
      },
      hours["air_temperature"], hours["relative_humidity"]);
}

// Both from one reckoning.
void compute_equilibrium_moisture(UnitHours& hours) {
  Column &drying = hours["equilibrium_moisture_drying"], &wetting = hours["equilibrium_moisture_wetting"];
  const Column &air = hours["air_temperature"], &humidity = hours["relative_humidity"];
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (air.is_missing(i) || humidity.is_missing(i)) {
      const Reason why = air.is_missing(i) ? air.why(i) : humidity.why(i);
      drying.set_missing(i, why);
      wetting.set_missing(i, why);
      continue;
    }
    const auto e = equilibrium_moisture({Celsius(static_cast<double>(air[i])), Percent(static_cast<double>(humidity[i]))});
    const std::uint8_t flags = inherited(static_cast<std::uint8_t>(air.flags(i) | humidity.flags(i)));
    drying.set(i, e.drying.value(), flags);
    wetting.set(i, e.wetting.value(), flags);
  }
}
void filled_with_the_other(UnitHours&) {}

void compute_simard(UnitHours& hours) {
  derive_from_air(hours, "equilibrium_moisture_simard",
                  [](AirAndHumidity air) { return HourValue{simard_equilibrium_moisture(air).value()}; });
}

void compute_nelson(UnitHours& hours) {
  derive_from_air(hours, "equilibrium_moisture_nelson", [](AirAndHumidity air) {
    return HourValue{nelson_equilibrium_moisture(air).value(), air.relative_humidity.value() <= 99};
  });
}

void compute_fuel_moisture_index(UnitHours& hours) {
  derive_from_air(hours, "fuel_moisture_index", [](AirAndHumidity air) {
    const double h = air.relative_humidity.value();
    return HourValue{fuel_moisture_index(air).value(), h >= 10 && h <= 60};
  });
}

bool is_early_afternoon(double clock) { return clock >= 12 && clock < 16; }

// Fosberg & Deeming's factors are of early afternoons without rain.
template <Percent (*Model)(Percent)>
void compute_afternoon(UnitHours& hours, std::string_view key) {
  derive(
      hours[key],
      [](double e, double since_rain, double clock) {
        return HourValue{Model(Percent(e)).value(), is_early_afternoon(clock) && since_rain >= 1};
      },
      hours["equilibrium_moisture_simard"], hours["hours_since_rain"], local_clock(hours));
}
void compute_afternoon_1h(UnitHours& hours) { compute_afternoon<afternoon_moisture_1h>(hours, "afternoon_moisture_1h"); }
void compute_afternoon_10h(UnitHours& hours) { compute_afternoon<afternoon_moisture_10h>(hours, "afternoon_moisture_10h"); }

// Published for the day's lowest moisture from its highest deficit.
template <Percent (*Model)(Hectopascals)>
void compute_from_deficit(UnitHours& hours, std::string_view key) {
  derive(
      hours[key],
      [](double d, double clock) {
        return HourValue{Model(Hectopascals(d)).value(), is_early_afternoon(clock)};
      },
      hours["vapour_pressure_deficit"], local_clock(hours));
}
void compute_deficit(UnitHours& hours) { compute_from_deficit<moisture_of_deficit>(hours, "vpd_fuel_moisture"); }
void compute_deficit_australia(UnitHours& hours) {
  compute_from_deficit<moisture_of_deficit_australia>(hours, "vpd_fuel_moisture_australia");
}

void compute_one_hour(UnitHours& hours) { compute_dead_fuel_moisture(hours, FuelClass::one_hour); }
void compute_ten_hour(UnitHours& hours) { compute_dead_fuel_moisture(hours, FuelClass::ten_hour); }
void compute_hundred_hour(UnitHours& hours) { compute_dead_fuel_moisture(hours, FuelClass::hundred_hour); }

constexpr std::string_view kAir = "air_temperature relative_humidity";
constexpr std::string_view kVanWagner = "Van Wagner 1972, PS-X-29; Van Wagner 1987, Forestry Tech. Rep. 35";
constexpr std::string_view kTimeLag =
    "Mandel et al. 2014, NHESS 14, 2829-2845, after Fosberg & Deeming 1971, RM-207; Van Wagner 1972";
constexpr std::string_view kFosberg = "Fosberg & Deeming 1971, RM-207; Bradshaw et al. 1983, INT-169 [from memory]";

// What all rows of moisture have in common.
constexpr QuantityRow dead_fuel_row(QuantityRow row) {
  row.lowest = 0;
  row.highest = 250;
  row.near = row.forecast_error = 1;
  return row;
}
constexpr QuantityRow time_lag(std::string_view key, std::string_view title, void (*compute)(UnitHours&)) {
  return dead_fuel_row({.key = key,
                        .title = title,
                        .unit = "%",
                        .nature = Nature::state,
                        .model = "hourly time lag with rain wetting, in the shade of a screen and open to the rain",
                        .source = kTimeLag,
                        .equation = "dm/dt = (E - m)/lag; in rain (250 - m)(1 - exp(-(r - 0.05)/8))/(14 lag)",
                        .domain = "dead sticks in the open; no dew",
                        .inputs = "equilibrium_moisture_drying equilibrium_moisture_wetting precipitation_amount initial_state",
                        .compute = compute});
}

constexpr std::array kEquilibriumRows{
    dead_fuel_row({.key = "equilibrium_moisture_drying",
                   .title = "Equilibrium moisture of drying fuel",
                   .unit = "%",
                   .model = "Van Wagner",
                   .source = kVanWagner,
                   .equation = "eq. 4: 0.942 H^0.679 + 11 exp((H-100)/10) + 0.18 (21.1-T)(1-exp(-0.115 H))",
                   .domain = "dead fine fuel; humidity held to 1-100 %",
                   .inputs = kAir,
                   .compute = compute_equilibrium_moisture}),
    dead_fuel_row({.key = "equilibrium_moisture_wetting",
                   .title = "Equilibrium moisture of wetting fuel",
                   .unit = "%",
                   .model = "Van Wagner",
                   .source = kVanWagner,
                   .equation = "eq. 5: 0.618 H^0.753 + 10 exp((H-100)/10) + 0.18 (21.1-T)(1-exp(-0.115 H))",
                   .domain = "dead fine fuel; humidity held to 1-100 %",
                   .inputs = "equilibrium_moisture_drying air_temperature relative_humidity",
                   .compute = filled_with_the_other}),
    dead_fuel_row({.key = "equilibrium_moisture_simard",
                   .title = "Equilibrium moisture by Simard",
                   .unit = "%",
                   .model = "Simard",
                   .source = "Simard 1968, FF-X-14; Bradshaw et al. 1983, INT-169",
                   .equation = "three pieces in H (10 and 50 %) and T in degF",
                   .domain = "wood; humidity held to 1-100 %",
                   .inputs = kAir,
                   .compute = compute_simard}),
    dead_fuel_row({.key = "equilibrium_moisture_nelson",
                   .title = "Equilibrium moisture by Nelson, generic fuel",
                   .unit = "%",
                   .model = "Nelson, 0.31 and -0.062",
                   .source = "Nelson 1984, Can. J. For. Res. 14, 597-600; Catchpole et al. 2001, IJWF 10, 215-222",
                   .equation = "E = 0.31 - 0.062 ln(-(R T/M) ln(H/100))",
                   .domain = "humidity to 99 %; the constants are of no one fuel",
                   .inputs = kAir,
                   .status = Status::provisional,
                   .compute = compute_nelson}),
    dead_fuel_row({.key = "afternoon_moisture_1h",
                   .title = "Moisture of one-hour fuel, early afternoon",
                   .unit = "%",
                   .model = "1.03 times the equilibrium",
                   .source = kFosberg,
                   .equation = "M = 1.03 E (Simard)",
                   .domain = "12 to 16 local standard time, an hour after rain",
                   .inputs = "equilibrium_moisture_simard hours_since_rain",
                   .compute = compute_afternoon_1h}),
    dead_fuel_row({.key = "afternoon_moisture_10h",
                   .title = "Moisture of ten-hour fuel, early afternoon",
                   .unit = "%",
                   .model = "1.28 times the equilibrium",
                   .source = kFosberg,
                   .equation = "M = 1.28 E (Simard)",
                   .domain = "12 to 16 local standard time, an hour after rain",
                   .inputs = "equilibrium_moisture_simard hours_since_rain",
                   .compute = compute_afternoon_10h}),
    QuantityRow{.key = "fuel_moisture_index",
                .title = "Fuel moisture index",
                .unit = "1",
                .lowest = -20,
                .highest = 60,
                .model = "Sharples",
                .source = "Sharples, McRae, Weber & Gill 2009, Environ. Model. Softw. 24, 637-646 [digits from memory]",
                .equation = "10 - 0.25 (T - H)",
                .domain = "like a moisture in per cent for humidity 10-60 %",
                .inputs = kAir,
                .compute = compute_fuel_moisture_index},
    dead_fuel_row({.key = "vpd_fuel_moisture",
                   .title = "Fine fuel moisture from the vapour pressure deficit",
                   .unit = "%",
                   .model = "exponential; the driest hour of a day",
                   .source = "Resco de Dios et al. 2015, Agric. For. Meteorol. 203, 64-73 [constants from memory]",
                   .equation = "M = 5.43 + 52.91 exp(-0.64 D), D in kPa",
                   .domain = "daily least moisture; 12 to 16 local standard time",
                   .inputs = "vapour_pressure_deficit",
                   .status = Status::provisional,
                   .compute = compute_deficit}),
    dead_fuel_row({.key = "vpd_fuel_moisture_australia",
                   .title = "Fine fuel moisture by vapour pressure deficit, Australia",
                   .unit = "%",
                   .model = "exponential; the driest hour of a day",
                   .source = "Nolan et al. 2016, Remote Sens. Environ. 174, 100-108 [constants from memory]",
                   .equation = "M = 6.79 + 27.43 exp(-1.05 D), D in kPa",
                   .domain = "daily least moisture; 12 to 16 local standard time",
                   .inputs = "vapour_pressure_deficit",
                   .status = Status::provisional,
                   .compute = compute_deficit_australia}),
    time_lag("dead_fuel_moisture_1h", "One-hour dead fuel moisture", compute_one_hour),
    time_lag("dead_fuel_moisture_10h", "Ten-hour dead fuel moisture", compute_ten_hour),
    time_lag("dead_fuel_moisture_100h", "Hundred-hour dead fuel moisture", compute_hundred_hour),
    dead_fuel_row({.key = "dead_fuel_moisture_100h_daily",
                   .title = "Hundred-hour dead fuel moisture, daily",
                   .unit = "%",
                   .nature = Nature::daily,
                   .model = "national fire danger rating of the United States",
                   .source = "Bradshaw et al. 1983, INT-169; Cohen & Deeming 1985, PSW-82; Simard 1968",
                   .equation = "M += (D - M)(1 - 0.87 exp(-0.24)); D of the equilibria of day and night and the hours of rain",
                   .domain = "weather of all hours of the rain day",
                   .inputs = "air_temperature relative_humidity precipitation_amount solar_elevation initial_state",
                   .compute = compute_hundred_hour_days}),
};

}  // namespace

std::span<const QuantityRow> equilibrium_rows() { return kEquilibriumRows; }

}  // namespace hakea::core
