#include "core/weather/column.h"

namespace hakea::core {

std::string_view word(Reason reason) {
  switch (reason) {
    case Reason::none: return "none";
    case Reason::not_in_feed: return "not_in_feed";
    case Reason::gap: return "gap";
    case Reason::no_state: return "no_state";
    case Reason::no_parameter: return "no_parameter";
    case Reason::no_model: return "no_model";
    case Reason::not_applicable: return "not_applicable";
    case Reason::no_profile: return "no_profile";
    case Reason::out_of_domain: return "out_of_domain";
    case Reason::not_finite: return "not_finite";
    case Reason::beyond_horizon: return "beyond_horizon";
    case Reason::no_limits: return "no_limits";
  }
  return "none";
}

}  // namespace hakea::core
