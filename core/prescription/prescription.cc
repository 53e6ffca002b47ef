#include "core/prescription/prescription.h"

namespace hakea::core {

std::string_view word(Kind kind) {
  switch (kind) {
    case Kind::stop: return "stop";
    case Kind::hard: return "hard";
    case Kind::preference: return "preference";
  }
  return "";
}

std::string_view word(Scope scope) {
  switch (scope) {
    case Scope::each_hour: return "each_hour";
    case Scope::at_start: return "at_start";
    case Scope::window_mean: return "window_mean";
    case Scope::window_min: return "window_min";
    case Scope::window_max: return "window_max";
    case Scope::before: return "before";
    case Scope::same_day: return "same_day";
    case Scope::night_after: return "night_after";
    case Scope::days_after: return "days_after";
  }
  return "";
}

}  // namespace hakea::core
