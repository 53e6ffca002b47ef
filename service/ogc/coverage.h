// A series at one place as CoverageJSON: a Coverage of the domain PointSeries. Beside the standard's members it has those of
// HOURS that say what the numbers are worth: `flags`, `missing`, `sampling`.
#pragma once

#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "core/prescription/hour_fit.h"
#include "service/output/day_json.h"

namespace hakea::service {

struct Coverage {
  std::string id;
  double longitude_deg = 0, latitude_deg = 0;
  const core::UnitHours& hours;  // at least one
  const std::vector<std::size_t>& quantities;
  const std::vector<core::Fit>* fit = nullptr;  // by hour, where it is asked for
  const std::vector<SamplingNote>& sampling;
};
std::string coverage_json(const Coverage& coverage, const std::string& origin);

// Degrees as they were given: more digits than a float32 has.
std::string degrees_text(double degrees);

}  // namespace hakea::service
