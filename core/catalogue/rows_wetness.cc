// Antecedent wetness: what the rain record and the carried state say.
#include <array>

#include "core/catalogue/carry.h"
#include "core/catalogue/daily_states.h"
#include "core/catalogue/derive.h"
#include "core/catalogue/hourly_states.h"
#include "core/wetness/canadian.h"
#include "core/wetness/codes.h"

namespace hakea::core {
namespace {

RainRecord rain_of(const UnitHours& h) { return {&h["precipitation_amount"], h.first, &h.unit->zone, &h.initial_state}; }

void compute_hours_since_rain(UnitHours& h) { h["hours_since_rain"] = hours_since_rain(rain_of(h)); }

void compute_days_since_rain(UnitHours& h) {
  h["days_since_rain"] = days_since_rain(rain_of(h));
  overlay_daily_readings(h, "days_since_rain", std::chrono::hours(9));
}

void compute_kbdi(UnitHours& h) { h["kbdi"] = kbdi(wetness_record(h)); }
void compute_drought_factor(UnitHours& h) { h["drought_factor"] = drought_factor(wetness_record(h), h["kbdi"]); }

// One walk fills the three codes and the three indices.
void compute_codes(UnitHours& h) {
  canadian_codes(code_record(h), {&h["ffmc"], &h["dmc"], &h["dc"], &h["isi"], &h["bui"], &h["fwi"]});
}
void filled_with_ffmc(UnitHours&) {}

void compute_severity(UnitHours& h) {
  double last = -1, rating = 0;  // it stands for a day
  derive(
      h["daily_severity_rating"],
      [&](double fwi) {
        if (fwi != last) rating = daily_severity_rating(One(last = fwi)).value();
        return HourValue{rating};
      },
      h["fwi"]);
  overlay_daily_readings(h, "daily_severity_rating", std::chrono::hours(12));
}

constexpr std::string_view kFwiSource =
    "Van Wagner 1987, Forestry Tech. Rep. 35; Van Wagner & Pickett 1985, Forestry Tech. Rep. 33";
constexpr std::string_view kOwn = "common practice, no source";

// A code or index of the Canadian system. The rows come from one walk, that of ffmc, which the others therefore name.
constexpr QuantityRow canadian(std::string_view key, std::string_view title, double highest, std::string_view equation,
                               std::string_view inputs, void (*compute)(UnitHours&) = filled_with_ffmc) {
  return {.key = key,
          .title = title,
          .unit = "1",
          .lowest = 0,
          .highest = highest,
          .nature = Nature::daily_noon,
          .model = "Canadian fire weather index system, daily",
          .source = kFwiSource,
          .equation = equation,
          .domain = "noon weather, rain of the 24 hours to noon; every day",
          .inputs = inputs,
          .compute = compute};
}

constexpr std::array kWetnessRows{
    QuantityRow{.key = "hours_since_rain",
                .title = "Hours since rain of 0.2 mm in an hour",
                .unit = "h",
                .lowest = 0,
                .highest = 1e6,
                .model = "from the rain record",
                .source = kOwn,
                .inputs = "precipitation_amount",
                .compute = compute_hours_since_rain},
    QuantityRow{.key = "days_since_rain",
                .title = "Rain days since 2 mm",
                .unit = "d",
                .lowest = 0,
                .highest = 1e5,
                .nature = Nature::daily,
                .model = "from the rain record",
                .source = kOwn,
                .inputs = "precipitation_amount",
                .compute = compute_days_since_rain},
    QuantityRow{.key = "kbdi",
                .title = "Keetch-Byram drought index",
                .unit = "mm",
                .lowest = 0,
                .highest = 203.2,
                .nature = Nature::daily,
                .model = "Keetch-Byram, metric",
                .source = "Keetch & Byram 1968; Finkele et al. 2006, Aust. Met. Mag. 55, 183-197",
                .equation = "section 2.1.1",
                .domain = "annual rain known; rain and temperature of every day",
                .inputs = "precipitation_amount air_temperature annual_rain_mm initial_state",
                .compute = compute_kbdi},
    QuantityRow{.key = "drought_factor",
                .title = "Drought factor",
                .unit = "1",
                .lowest = 0,
                .highest = 10,
                .nature = Nature::daily,
                .model = "Griffiths with the Finkele limit",
                .source = "Griffiths 1999, Aust. For. 62, 202-206; Finkele et al. 2006",
                .equation = "eqs 11-14",
                .domain = "rain of 20 days known",
                .inputs = "precipitation_amount kbdi initial_state",
                .compute = compute_drought_factor},
    QuantityRow{.key = "soil_dryness_index",
                .title = "Soil dryness index",
                .unit = "mm",
                .lowest = 0,
                .highest = 250,
                .nature = Nature::daily,
                .model = "Mount, with the evapotranspiration of Hobart and one class of canopy",
                .source = "Mount 1972, Tasmanian Forestry Commission; parameters of ecbtools and firekit",
                .equation = "daily balance of rain, interception, run-off and evapotranspiration",
                .domain = "Tasmania; elsewhere as read",
                .inputs = "air_temperature precipitation_amount initial_state",
                .compute = compute_soil_dryness},
    canadian("ffmc", "Fine fuel moisture code", 101, "eqs 1-10",
             "air_temperature relative_humidity wind_speed precipitation_amount initial_state", compute_codes),
    canadian("dmc", "Duff moisture code", 2000, "eqs 11-16, with day lengths by latitude",
             "ffmc air_temperature relative_humidity precipitation_amount initial_state"),
    canadian("dc", "Drought code", 5000, "eqs 18-23, with day lengths by hemisphere",
             "ffmc air_temperature precipitation_amount initial_state"),
    canadian("isi", "Initial spread index", 1000, "eqs 24-26", "ffmc wind_speed"),
    canadian("bui", "Build-up index", 2000, "eq. 27", "ffmc dmc dc"),
    canadian("fwi", "Fire weather index", 1000, "eqs 28-30", "ffmc isi bui"),
    canadian("daily_severity_rating", "Daily severity rating", 10000, "eq. 31: 0.0272 FWI^1.77", "fwi", compute_severity),
    QuantityRow{.key = "hourly_ffmc",
                .title = "Hourly fine fuel moisture code",
                .unit = "1",
                .lowest = 0,
                .highest = 101,
                .nature = Nature::state,
                .model = "hourly code of the Canadian system",
                .source = "Van Wagner 1977, PS-X-69; 147.27723 of the later codes",
                .equation = "eqs 1-10 with a tenth of the log drying rate, no interception",
                .domain = "weather of every hour",
                .inputs = "air_temperature relative_humidity wind_speed precipitation_amount initial_state",
                .compute = compute_hourly_ffmc},
};

}  // namespace

WetnessRecord wetness_record(const UnitHours& h) {
  return {.rain = rain_of(h),
          .air_temperature = &h["air_temperature"],
          .annual_rain = h.unit->annual_rain,
          .kbdi_readings = readings_of(h, "kbdi"),
          .drought_factor_readings = readings_of(h, "drought_factor")};
}

CodeRecord code_record(const UnitHours& h) {
  return {.air_temperature = &h["air_temperature"],
          .relative_humidity = &h["relative_humidity"],
          .wind_speed = &h["wind_speed"],
          .rain = &h["precipitation_amount"],
          .first = h.first,
          .zone = &h.unit->zone,
          .latitude_deg = h.unit->site.latitude_deg,
          .before = &h.initial_state,
          .readings = {readings_of(h, "ffmc"), readings_of(h, "dmc"), readings_of(h, "dc"), readings_of(h, "isi"),
                       readings_of(h, "bui"), readings_of(h, "fwi")}};
}

std::span<const QuantityRow> wetness_rows() { return kWetnessRows; }

}  // namespace hakea::core
