// Fire danger and what a fire would do. Further down: quantities that can be limited and read, and have no model yet.
#include <array>
#include <cmath>

#include "core/catalogue/derive.h"
#include "core/fire/danger.h"
#include "core/fire/flame.h"
#include "core/fire/spread_models.h"

namespace hakea::core {
namespace {

void compute_ffdi(UnitHours& hours) {
  derive(hours["ffdi"],
         [](double d, double t, double h, double v) {
           const DangerInputs in{One(d), Celsius(t), Percent(h), KilometresPerHour(v)};
           return HourValue{ffdi(in).value(), in_ffdi_domain(in)};
         },
         hours["drought_factor"], hours["air_temperature"], hours["relative_humidity"], hours["wind_speed"]);
}

void compute_rate_of_spread(UnitHours& hours) {
  Column& out = hours["rate_of_spread"];
  const SpreadModelRow* model = find_spread_model(hours.unit->fuel.spread_model);
  if (!model) return fill_missing(out, Reason::no_model);
  const TonnesPerHectare load = hours.unit->fuel.load;
  const Degrees slope = hours.unit->site.slope;
  if (load.is_missing() || slope.is_missing()) return fill_missing(out, Reason::no_parameter);
  derive(out,
         [&](double moisture, double wind) {
           const SpreadInputs in{load, KilometresPerHour(wind), Percent(moisture), slope};
           return HourValue{model->spread(in).value(), model->in_domain(in)};
         },
         hours["litter_moisture"], hours["in_forest_wind_speed"]);
}

void compute_fireline_intensity(UnitHours& hours) {
  const TonnesPerHectare load = hours.unit->fuel.load;
  if (load.is_missing()) return fill_missing(hours["fireline_intensity"], Reason::no_parameter);
  derive(hours["fireline_intensity"], [load](double spread) { return HourValue{fireline_intensity(load, MetresPerHour(spread)).value()}; },
         hours["rate_of_spread"]);
}

void compute_flame_length(UnitHours& hours) {
  derive(hours["flame_length"], [](double intensity) { return HourValue{flame_length(KilowattsPerMetre(intensity)).value()}; }, hours["fireline_intensity"]);
}

void compute_flame_height(UnitHours& hours) {
  Column& out = hours["flame_height"];
  const SpreadModelRow* model = find_spread_model(hours.unit->fuel.spread_model);
  if (!model) return fill_missing(out, Reason::no_model);
  const TonnesPerHectare load = hours.unit->fuel.load;
  if (load.is_missing()) return fill_missing(out, Reason::no_parameter);
  derive(out, [&](double spread) { return HourValue{model->flame_height(load, MetresPerHour(spread)).value()}; }, hours["rate_of_spread"]);
}

void compute_scorch_height(UnitHours& hours) {
  derive(hours["scorch_height"], [](double intensity, double t) { return HourValue{scorch_height(KilowattsPerMetre(intensity), Celsius(t)).value()}; },
         hours["fireline_intensity"], hours["air_temperature"]);
}

template <const char* Key>
void no_model(UnitHours& hours) {
  fill_missing(hours[Key], Reason::no_model);   // readings are put over it
}
constexpr char kGfdi[] = "gfdi", kHaines[] = "c_haines", kHotDryWindy[] = "hot_dry_windy", kBearing[] = "smoke_bearing", kReceptors[] = "receptors_under_smoke",
               kSmoke[] = "smoke_concentration";

using enum Origin;
constexpr auto instant = Nature::instant;
constexpr auto firm = Status::firm;
constexpr std::string_view kNoModel = "given as a reading; no model yet";
constexpr std::string_view kGuide = "McArthur 1962 Leaflet 80; Gould 1994, Aust. For. 57, 86-93";

constexpr std::array kRows{
    QuantityRow{"ffdi", "Forest fire danger index", "1", 0, 400, "", derived, instant, "McArthur mark 5", "McArthur 1967; Noble, Bary & Gill 1980, Aust. J. Ecol. 5, 201-203", "",
                "drought factor 0-10, 0-45 degC, humidity 5-100 %, wind 0-80 km/h", "drought_factor air_temperature relative_humidity wind_speed", 1, false, 1, firm, false,
                compute_ffdi},
    QuantityRow{"rate_of_spread", "Rate of spread", "m/h", 0, 20000, "", derived, instant, "by the unit's fuel: control burning in eucalypt forest", kGuide,
                "R = 0.22 w exp(0.158 U - 0.227 M) exp(0.069 slope)", "load 5-25 t/ha, litter 5-25 %, wind in the forest 0-10 km/h, slope to 15 degrees",
                "litter_moisture in_forest_wind_speed fuel.load_t_ha slope_deg", 0.1, true, 0.1, firm, false, compute_rate_of_spread},
    QuantityRow{"fireline_intensity", "Fireline intensity", "kW/m", 0, 100000, "", derived, instant, "Byram, 18 600 kJ/kg", "Byram 1959", "I = H w R", "", "rate_of_spread fuel.load_t_ha",
                0.1, true, 0.1, firm, false, compute_fireline_intensity},
    QuantityRow{"flame_length", "Flame length", "m", 0, 100, "", derived, instant, "Byram", "Byram 1959", "L = 0.0775 I^0.46", "best under 500 kW/m", "fireline_intensity", 0, false, 0,
                firm, false, compute_flame_length},
    QuantityRow{"flame_height", "Flame height", "m", 0, 100, "", derived, instant, "control-burning guide, to 20 %", kGuide, "Hf = 0.163 w^0.862 R^0.89", "as the spread",
                "rate_of_spread fuel.load_t_ha", 0, false, 0, firm, false, compute_flame_height},
    QuantityRow{"scorch_height", "Crown scorch height", "m", 0, 100, "", derived, instant, "Van Wagner, calm", "Van Wagner 1973, Can. J. For. Res. 3, 373-378",
                "hs = 4.4713 I^(2/3) / (60 - T)", "air under 60 degC; from pines", "fireline_intensity air_temperature", 0, false, 0, firm, false, compute_scorch_height},
    QuantityRow{"gfdi", "Grassland fire danger index", "1", 0, 400, "", derived, instant, kNoModel, "", "", "", "", 1, false, 1, firm, false, no_model<kGfdi>},
    QuantityRow{"c_haines", "C-Haines", "1", -10, 20, "", derived, instant, kNoModel, "", "", "", "", 0, false, 0, firm, false, no_model<kHaines>},
    QuantityRow{"hot_dry_windy", "Hot-dry-windy index", "1", 0, 5000, "", derived, instant, kNoModel, "", "", "", "", 0, false, 0, firm, false, no_model<kHotDryWindy>},
    QuantityRow{"smoke_bearing", "Bearing of the smoke", "deg", 0, 360, "", derived, instant, kNoModel, "", "", "", "", 0, false, 0, firm, true, no_model<kBearing>},
    QuantityRow{"receptors_under_smoke", "Receptors under the smoke", "1", 0, 1000, "", derived, instant, kNoModel, "", "", "", "", 0, false, 0, firm, false, no_model<kReceptors>},
    QuantityRow{"smoke_concentration", "Smoke concentration", "ug/m3", 0, 100000, "", derived, instant, kNoModel, "", "", "", "", 0, false, 0, firm, false, no_model<kSmoke>},
};

}  // namespace

std::span<const QuantityRow> fire_rows() { return kRows; }

}  // namespace hakea::core
