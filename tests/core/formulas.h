// The formulas that case files may name, one list a room.
#pragma once

#include "tests/support/case_file.h"

namespace hakea::test {

Formulas weather_formulas();
Formulas wetness_formulas();
Formulas moisture_formulas();
Formulas fire_formulas();
Formulas danger_formulas();
Formulas spread_formulas();
Formulas air_formulas();
Formulas smoke_formulas();
Formulas verify_formulas();

inline std::vector<Formulas> formulas_by_room() {
  return {weather_formulas(), wetness_formulas(), moisture_formulas(), fire_formulas(),  spread_formulas(),
          danger_formulas(),  air_formulas(),     smoke_formulas(),    verify_formulas()};
}

}  // namespace hakea::test
