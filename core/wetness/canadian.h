// The Canadian Forest Fire Weather Index System.
//
// Van Wagner (1987), Forestry Tech. Rep. 35, and the program of Van Wagner & Pickett (1985), Forestry Tech. Rep. 33; read
// through the open climate library xclim, whose form of eqs 12 and 15 of the duff moisture code is used: it is the one that
// published gridded values carry, and within 0.07 of the printed one. The hourly code: Van Wagner (1977), Inf. Rep. PS-X-69.
// Missing in, missing out.
#pragma once

#include "core/base/quantity.h"
#include "core/weather/humidity.h"

namespace hakea::core {

// At noon of local standard time, with the rain of the 24 hours before.
struct NoonWeather {
  AirAndHumidity air;
  KilometresPerHour wind_speed;  // 10 m in the open
  Millimetres rain;
};

// The day-length tables have monthly values by latitude: north of 30 N, from 15 to 30 N, between 15 S and 15 N, from 15 to
// 30 S, south of 30 S. Between the rows of the table they step; the published scheme does.
struct SeasonAndPlace {
  unsigned month;  // 1..12
  double latitude_deg;
};
double effective_day_length(SeasonAndPlace when);  // Le of eq. 16, h
double day_length_factor(SeasonAndPlace when);     // Lf of eq. 22

// What a chain without a known beginning starts with (FTR 35): three days after the snow has gone.
inline constexpr double kFirstFfmc = 85, kFirstDmc = 6, kFirstDc = 15;

// One day on from `before`.
One ffmc_step(One before, const NoonWeather& noon);                      // eqs 1-10
One dmc_step(One before, const NoonWeather& noon, SeasonAndPlace when);  // eqs 11-16
One dc_step(One before, const NoonWeather& noon, SeasonAndPlace when);   // eqs 18-23

// The moisture that a fine fuel moisture code stands for, and back.
enum class FfmcScale { daily, hourly };  // 147.2 and 147.27723
Percent moisture_of(One ffmc, FfmcScale scale);
One ffmc_of(Percent moisture, FfmcScale scale);

One initial_spread_index(One ffmc, KilometresPerHour wind_speed, FfmcScale scale = FfmcScale::daily);  // eqs 24-26
One build_up_index(One dmc, One dc);                                                                   // eq. 27
One fire_weather_index(One isi, One bui);                                                              // eqs 28-30
One daily_severity_rating(One fwi);                                                                    // eq. 31

// One hour on (or another time, over which the weather is constant), from the weather and rain of that hour: PS-X-69 with the
// constant 147.27723 of the later, aligned codes.
struct HourlyWeather {
  AirAndHumidity air;
  KilometresPerHour wind_speed;
  Millimetres rain;
};
One hourly_ffmc_step(One before, const HourlyWeather& weather, Hours step = Hours(1));

}  // namespace hakea::core
