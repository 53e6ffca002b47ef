// Antecedent wetness: what the rain record and the carried state say.
#include <array>

#include "core/catalogue/carry.h"
#include "core/catalogue/derive.h"

namespace hakea::core {
namespace {

using std::chrono::hours;

RainRecord rain_of(const UnitHours& h) { return {&h["precipitation_amount"], h.first, &h.unit->zone, &h.initial_state}; }

void compute_hours_since_rain(UnitHours& h) { h["hours_since_rain"] = hours_since_rain(rain_of(h)); }

void compute_days_since_rain(UnitHours& h) {
  h["days_since_rain"] = days_since_rain(rain_of(h));
  overlay_daily_readings(h, "days_since_rain", hours(9));
}

void compute_kbdi(UnitHours& h) { h["kbdi"] = kbdi(wetness_record(h)); }
void compute_drought_factor(UnitHours& h) { h["drought_factor"] = drought_factor(wetness_record(h), h["kbdi"]); }

template <const char* Key>
void only_read(UnitHours& h) {
  fill_missing(h[Key], Reason::no_model);
  overlay_daily_readings(h, Key, hours(12));
}
constexpr char kFfmc[] = "ffmc", kDmc[] = "dmc", kDc[] = "dc", kIsi[] = "isi", kBui[] = "bui", kFwi[] = "fwi";

void compute_hourly_ffmc(UnitHours& h) {
  fill_missing(h["hourly_ffmc"], Reason::no_model);
  if (const Column* entered = readings_of(h, "hourly_ffmc"))
    for (std::size_t i = 0; i < h.hours; ++i)
      if (!entered->is_missing(i)) h["hourly_ffmc"].set(i, static_cast<double>((*entered)[i]), flag::kReading);
}

using enum Origin;
using enum Nature;
constexpr auto firm = Status::firm;
constexpr std::string_view kNoModel = "given as a reading; no model yet";
constexpr std::string_view kFwiSource = "Van Wagner 1987, Forestry Tech. Rep. 35";
constexpr std::string_view kOwn = "common practice, no source";

constexpr QuantityRow code(std::string_view key, std::string_view title, double highest, void (*compute)(UnitHours&),
                           Nature nature = daily_noon) {
  return {key, title, "1", 0, highest, "", derived, nature, kNoModel, kFwiSource, "", "", "", 0, false, 0, firm, false, compute};
}

constexpr std::array kRows{
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
                .nature = daily,
                .model = "from the rain record",
                .source = kOwn,
                .inputs = "precipitation_amount",
                .compute = compute_days_since_rain},
    QuantityRow{.key = "kbdi",
                .title = "Keetch-Byram drought index",
                .unit = "mm",
                .lowest = 0,
                .highest = 203.2,
                .nature = daily,
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
                .nature = daily,
                .model = "Griffiths with the Finkele limit",
                .source = "Griffiths 1999, Aust. For. 62, 202-206; Finkele et al. 2006",
                .equation = "eqs 11-14",
                .domain = "rain of 20 days known",
                .inputs = "precipitation_amount kbdi initial_state",
                .compute = compute_drought_factor},
    code("ffmc", "Fine fuel moisture code", 101, only_read<kFfmc>),
    code("dmc", "Duff moisture code", 2000, only_read<kDmc>),
    code("dc", "Drought code", 5000, only_read<kDc>),
    code("isi", "Initial spread index", 500, only_read<kIsi>),
    code("bui", "Build-up index", 2000, only_read<kBui>),
    code("fwi", "Fire weather index", 500, only_read<kFwi>),
    code("hourly_ffmc", "Hourly fine fuel moisture code", 101, compute_hourly_ffmc, state),
};

}  // namespace

WetnessRecord wetness_record(const UnitHours& h) {
  return {.rain = rain_of(h),
          .air_temperature = &h["air_temperature"],
          .annual_rain = h.unit->annual_rain,
          .kbdi_readings = readings_of(h, "kbdi"),
          .drought_factor_readings = readings_of(h, "drought_factor")};
}

std::span<const QuantityRow> wetness_rows() { return kRows; }

}  // namespace hakea::core
