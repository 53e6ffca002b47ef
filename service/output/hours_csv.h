// The hours of units as CSV (RFC 4180): unit, time_utc, fit, a column a quantity with its unit, and last the quantities
// whose value is outside its model's published domain in that hour and those that rest on a provisional model. An empty
// cell is missing.
#pragma once

#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "core/prescription/hour_fit.h"

namespace hakea::service {

std::string hours_csv_head(const std::vector<std::size_t>& quantities);
void add_hours_csv(std::string& text, const std::string& unit, const core::UnitHours& hours, const std::vector<core::Fit>& fit,
                   const std::vector<std::size_t>& quantities);

}  // namespace hakea::service
