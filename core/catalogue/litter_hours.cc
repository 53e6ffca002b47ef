#include "core/catalogue/litter_hours.h"

#include <algorithm>
#include <cmath>

#include "core/base/numbers.h"
#include "core/catalogue/derive.h"
#include "core/fire/wind_to_flame.h"
#include "core/moisture/exposure.h"
#include "core/moisture/litter.h"
#include "core/weather/sun.h"

namespace hakea::core {
namespace {

struct Litter {
  double moisture = kNaN;
  int run_up_h = 0;

  void enter(double m) { *this = {m, 0}; }
};

// Light at the litter during an hour.
struct Light {
  double exposed = 0, sheltered = 0;  // W/m2
  bool is_estimated = false;
};

// What the walk needs to know of the fuel; missing where nobody said.
struct Bed {
  Hours lag;
  Canopy canopy;
  double light_share;
};
Bed bed_of(const Fuel& fuel) {
  if (fuel.moisture_model != MoistureModel::time_lag)
    return {fuel.litter_time_lag, {fuel.canopy_interception, fuel.canopy_store.value()}, fuel.litter_light_share};
  const auto or_else = [](double given, double otherwise) { return std::isnan(given) ? otherwise : given; };
  return {Hours(or_else(fuel.litter_time_lag.value(), 1)),
          {or_else(fuel.canopy_interception, 0), or_else(fuel.canopy_store.value(), 0)},
          or_else(fuel.litter_light_share, 1)};
}

class LightOfHours {
 public:
  LightOfHours(const UnitHours& hours, double share)
      : first_(hours.first),
        share_(share),
        site_(hours.unit->site),
        track_(site_.latitude_deg, site_.longitude_deg),
        elevation_(hours["solar_elevation"]),
        radiation_(hours["shortwave_radiation"]),
        cloud_(hours["cloud_area_fraction"]) {}

  Light of(std::size_t i) {
    if (elevation_[i] < -8) return {};  // the sun climbs at most 7.5 degrees to the middle of the hour
    const SunPosition sun = track_.at((first_ + static_cast<int>(i)).start() + std::chrono::minutes(30));
    if (sun.elevation.value() <= 0) return {};
    Light light;
    double global = static_cast<double>(radiation_[i]);
    if (radiation_.is_missing(i)) {
      const double cloud = cloud_.is_missing(i) ? 0 : static_cast<double>(cloud_[i]) / 100;
      global = clear_sky_irradiance(sun.elevation + refraction(sun.elevation)).value() * share_through_cloud(cloud);
      light.is_estimated = true;
    }
    if (!(global > 0)) return light;
    const Slope slope{site_.slope, site_.aspect.is_missing() ? Degrees(0) : site_.aspect};
    light.sheltered = share_ * shaded_irradiance(WattsPerSquareMetre(global), sun, slope).value();
    light.exposed =
        site_.sheltered ? light.sheltered : share_ * slope_irradiance(WattsPerSquareMetre(global), sun, slope).value();
    return light;
  }

 private:
  UtcHour first_;
  double share_;
  const Site& site_;
  SunTrack track_;
  const Column& elevation_;
  const Column& radiation_;
  const Column& cloud_;
};

bool lacks_parameter(const Bed& bed, const Site& site) {
  return bed.lag.is_missing() || std::isnan(bed.canopy.share) || std::isnan(bed.canopy.capacity_mm) ||
         std::isnan(bed.light_share) || site.slope.is_missing() || (site.slope.value() > 0 && site.aspect.is_missing());
}

void take_reading(const Column* readings, std::size_t i, Litter& litter, bool& is_read) {
  is_read = readings && !readings->is_missing(i);
  if (is_read) litter.enter(static_cast<double>((*readings)[i]));
}

void show(Column& out, std::size_t i, const Litter& litter, bool is_read, std::uint8_t weather_flags, Reason why) {
  if (is_read) {
    out.set(i, litter.moisture, flag::kReading);
  } else if (why != Reason::none) {
    out.set_missing(i, why);
  } else {
    out.set(i, litter.moisture, static_cast<std::uint8_t>(weather_flags | (litter.run_up_h > 0 ? flag::kSpinUp : 0)));
  }
}

}  // namespace

bool has_litter_state(const Fuel& fuel) {
  return fuel.moisture_model == MoistureModel::eucalypt_litter || fuel.moisture_model == MoistureModel::time_lag;
}

void walk_litter(const UnitHours& hours, Column& exposed_out, Column& sheltered_out, UtcHour until, WetnessState* carried) {
  const UnitTraits& unit = *hours.unit;
  const Column& air = hours["air_temperature"];
  const Column& humidity = hours["relative_humidity"];
  const Column& rain = hours["precipitation_amount"];
  const bool is_open = !unit.fuel.is_forest && std::isnan(unit.fuel.wind_reduction);
  const Column& wind = hours[is_open ? "wind_speed" : "in_forest_wind_speed"];
  // A bed of unknown depth counts as one foot deep.
  const Metres depth = unit.fuel.height.value() > 0 ? unit.fuel.height : Metres(0.3048);
  const double wind_share = is_open ? open_midflame_factor(depth) / kTenMetresOverTwentyFeet : 1;
  const Column* readings = readings_of(hours, "litter_moisture");
  const Column* sheltered_readings = readings_of(hours, "litter_moisture_sheltered");
  const Bed bed = bed_of(unit.fuel);
  const bool is_blocked = lacks_parameter(bed, unit.site);
  // Litter wets with the lag of the finest fuel, whatever time it takes to dry; coarser fuel with that of its class.
  const LitterLags lags = unit.fuel.is_forest ? LitterLags{bed.lag} : lags_of_class(bed.lag);

  LightOfHours light_of_hours(hours, bed.light_share);
  const Canopy canopy = bed.canopy;
  CanopyState canopy_state{canopy.capacity_mm, 0};
  Litter exposed, sheltered;
  int gap_h = 0;

  const std::optional<WetnessState>& state = hours.initial_state;
  const UtcHour state_hour = state ? first_hour_from(unit.zone.rain_day_end(state->as_of)) : hours.first;
  const auto take_state = [&] {
    if (state->litter_moisture.is_missing()) return;
    exposed.enter(state->litter_moisture.value());
    sheltered.enter(state->litter_moisture_sheltered.is_missing() ? exposed.moisture : state->litter_moisture_sheltered.value());
    exposed.run_up_h = state->litter_run_up_h;
    sheltered.run_up_h = state->litter_sheltered_run_up_h;
    if (!std::isnan(state->canopy_store_mm)) canopy_state = {state->canopy_store_mm, state->canopy_dry_h};
    gap_h = 0;
  };
  if (state && state_hour <= hours.first) {
    take_state();
    gap_h = hours.first - state_hour;
  }

  const auto hand_on = [&] {
    if (!carried || std::isnan(exposed.moisture) || gap_h > kLongestWeatherGap) return;
    carried->litter_moisture = Percent(exposed.moisture);
    carried->litter_moisture_sheltered = Percent(sheltered.moisture);
    carried->litter_run_up_h = gap_h > 0 ? kLitterRunUp : exposed.run_up_h;
    carried->litter_sheltered_run_up_h = gap_h > 0 ? kLitterRunUp : sheltered.run_up_h;
    carried->canopy_store_mm = canopy_state.store_mm;
    carried->canopy_dry_h = canopy_state.dry_h;
  };

  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = hours.first + static_cast<int>(i);
    if (state && hour == state_hour) take_state();
    if (hour == until) hand_on();

    Reason why = is_blocked ? Reason::no_parameter : Reason::none;
    const Light light = is_blocked ? Light{} : light_of_hours.of(i);
    for (const Column* input : {&air, &humidity, &rain})
      if (why == Reason::none && input->is_missing(i)) why = input->why(i);
    if (why == Reason::none && light.exposed > 0 && wind.is_missing(i)) why = wind.why(i);

    EquilibriumMoisture in_sun, in_shade;
    bool has_begun = false;  // in this hour
    if (why == Reason::none) {
      const AirAndHumidity screen{Celsius(static_cast<double>(air[i])), Percent(static_cast<double>(humidity[i]))};
      if (light.exposed > 0) {
        const MetresPerSecond u = to<MetresPerSecond>(KilometresPerHour(wind_share * static_cast<double>(wind[i])));
        in_sun = equilibrium_moisture(air_at_litter(screen, WattsPerSquareMetre(light.exposed), u));
        in_shade = light.sheltered == light.exposed
                       ? in_sun
                       : equilibrium_moisture(air_at_litter(screen, WattsPerSquareMetre(light.sheltered), u));
      } else {
        in_sun = in_shade = equilibrium_moisture(screen);
      }
      if (std::isnan(exposed.moisture) || gap_h > kLongestWeatherGap) {
        has_begun = true;
        exposed = {between(in_sun).value(), kLitterRunUp};
        sheltered = {between(in_shade).value(), kLitterRunUp};
      } else if (gap_h > 0) {
        exposed.run_up_h = sheltered.run_up_h = kLitterRunUp;
      }
      gap_h = 0;
    } else {
      ++gap_h;
    }

    bool is_read = false, sheltered_is_read = false;
    take_reading(readings, i, exposed, is_read);
    take_reading(sheltered_readings, i, sheltered, sheltered_is_read);
    // Of a state that only now begins at the equilibrium less is known than a reading of the other says.
    if (is_read && std::isnan(sheltered.moisture)) sheltered = exposed;
    if (sheltered_is_read && std::isnan(exposed.moisture)) exposed = sheltered;
    if (has_begun && is_read && !sheltered_is_read) sheltered.moisture = exposed.moisture;
    if (has_begun && sheltered_is_read && !is_read) exposed.moisture = sheltered.moisture;
    if (is_read || sheltered_is_read) gap_h = std::min(gap_h, 1);
    const auto weather_flags = why == Reason::none
                                   ? inherited(static_cast<std::uint8_t>(air.flags(i) | humidity.flags(i) | rain.flags(i) |
                                                                         (light.is_estimated ? flag::kInterpolated : 0)))
                                   : std::uint8_t{0};
    show(exposed_out, i, exposed, is_read, weather_flags, why);
    show(sheltered_out, i, sheltered, sheltered_is_read, weather_flags, why);
    if (why != Reason::none) continue;

    const double reaching = throughfall(static_cast<double>(rain[i]), canopy, canopy_state);
    exposed.moisture = litter_step(Percent(exposed.moisture), in_sun, reaching, lags).value();
    sheltered.moisture = litter_step(Percent(sheltered.moisture), in_shade, reaching, lags).value();
    exposed.run_up_h = std::max(exposed.run_up_h - 1, 0);
    sheltered.run_up_h = std::max(sheltered.run_up_h - 1, 0);
  }
  if (until == hours.end()) hand_on();
}

}  // namespace hakea::core
