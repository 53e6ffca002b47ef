#include "core/catalogue/spread_hours.h"

#include <array>

#include "core/base/words.h"
#include "core/catalogue/derive.h"
#include "core/fire/flame.h"
#include "core/fire/spread_models.h"

namespace hakea::core {
namespace {

// The inputs of a model, hour by hour. What does not change is prepared once.
class InputsOfHours {
 public:
  // `names` as SpreadModelRow::inputs, and the quantity that the model's answer is computed from.
  InputsOfHours(const UnitHours& hours, std::string_view names) : in_(spread_inputs(hours.unit->fuel, hours.unit->site.slope)) {
    for (const std::string_view name : words(names)) {
      for (const SpreadInput& known : known_spread_inputs()) {
        if (known.name != name || (known.is_needed && !known.is_needed(in_))) continue;
        if (known.of)
          lacks_parameter_ = lacks_parameter_ || std::isnan(known.of(in_));
        else
          hourly_[count_++] = {&hours[known.name], known.set};
      }
    }
  }

  // Puts the hour's values in; why not, if one is missing.
  Reason take(std::size_t i) {
    flags_ = 0;
    for (const Hourly& one : std::span(hourly_).first(count_)) {
      if (one.column->is_missing(i)) return one.column->why(i);
      one.set(in_, static_cast<double>((*one.column)[i]));
      flags_ = static_cast<std::uint8_t>(flags_ | inherited(one.column->flags(i)));
    }
    return lacks_parameter_ ? Reason::no_parameter : Reason::none;
  }

  const SpreadInputs& inputs() const { return in_; }
  std::uint8_t flags() const { return flags_; }

 private:
  struct Hourly {
    const Column* column;
    void (*set)(SpreadInputs&, double);
  };
  SpreadInputs in_;
  std::array<Hourly, 8> hourly_{};
  std::size_t count_ = 0;
  bool lacks_parameter_ = false;
  std::uint8_t flags_ = 0;
};

// out[i] = model(inputs, from[i]), with the flags of both.
template <class Model>
void derive_from(const Column& from, UnitHours& hours, std::string_view names, Column& out, Model model) {
  InputsOfHours of_hours(hours, names);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    Reason why = from.is_missing(i) ? from.why(i) : of_hours.take(i);
    if (why == Reason::none)
      out.set(i, model(of_hours.inputs(), static_cast<double>(from[i])).value(),
              static_cast<std::uint8_t>(of_hours.flags() | inherited(from.flags(i))));
    else
      out.set_missing(i, why);
  }
}

}  // namespace

void compute_rate_of_spread(UnitHours& hours) {
  Column& out = hours["rate_of_spread"];
  const SpreadModelRow* model = find_spread_model(hours.unit->fuel.spread_model);
  if (!model) return fill_missing(out, Reason::no_model);
  InputsOfHours of_hours(hours, model->inputs);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (const Reason why = of_hours.take(i); why != Reason::none) {
      out.set_missing(i, why);
      continue;
    }
    const bool in_domain = model->in_domain(of_hours.inputs());
    out.set(i, model->spread(of_hours.inputs()).value(),
            static_cast<std::uint8_t>(of_hours.flags() | (in_domain ? 0 : flag::kOutOfDomain)));
  }
}

void compute_fireline_intensity(UnitHours& hours) {
  Column& out = hours["fireline_intensity"];
  const Column& spread = hours["rate_of_spread"];
  const SpreadModelRow* model = find_spread_model(hours.unit->fuel.spread_model);
  if (model) {
    derive_from(spread, hours, model->intensity_inputs, out,
                [model](const SpreadInputs& in, double r) { return model->fireline_intensity(in, MetresPerHour(r)); });
    return;
  }
  // A spread that was read, in a fuel without a model.
  derive_from(spread, hours, "fuel.load_t_ha", out,
              [](const SpreadInputs& in, double r) { return fireline_intensity(in.fuel->load, MetresPerHour(r)); });
}

void compute_flame_length(UnitHours& hours) {
  const auto model = hours.unit->fuel.flame_length == FlameLength::thomas ? thomas_flame_length : flame_length;
  derive(
      hours["flame_length"], [model](double intensity) { return HourValue{model(KilowattsPerMetre(intensity)).value()}; },
      hours["fireline_intensity"]);
}

void compute_flame_height(UnitHours& hours) {
  Column& out = hours["flame_height"];
  const SpreadModelRow* model = find_spread_model(hours.unit->fuel.spread_model);
  if (model && model->flame_height_of_spread)
    derive_from(hours["rate_of_spread"], hours, model->flame_height_inputs, out,
                [model](const SpreadInputs& in, double r) { return model->flame_height_of_spread(in, MetresPerHour(r)); });
  else if (model && model->flame_height_of_intensity)
    derive(
        out, [model](double i) { return HourValue{model->flame_height_of_intensity(KilowattsPerMetre(i)).value()}; },
        hours["fireline_intensity"]);
  else
    fill_missing(out, Reason::no_model);
}

void compute_scorch_height(UnitHours& hours) {
  const double factor = hours.unit->fuel.scorch_factor;
  Column& out = hours["scorch_height"];
  const Column& intensity = hours["fireline_intensity"];
  switch (hours.unit->fuel.scorch) {
    case Scorch::ambient:
      return derive(
          out,
          [factor](double i, double t) { return HourValue{factor * scorch_height(KilowattsPerMetre(i), Celsius(t)).value()}; },
          intensity, hours["air_temperature"]);
    case Scorch::mean_air:
      return derive(
          out, [factor](double i) { return HourValue{factor * mean_air_scorch_height(KilowattsPerMetre(i)).value()}; },
          intensity);
    case Scorch::wind:
      return derive(
          out,
          [factor](double i, double t, double u) {
            return HourValue{factor * scorch_height(KilowattsPerMetre(i), Celsius(t), KilometresPerHour(u)).value()};
          },
          intensity, hours["air_temperature"], hours["in_forest_wind_speed"]);
  }
}

}  // namespace hakea::core
