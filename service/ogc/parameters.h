// Quantities as parameters: the metadata of EDR collections, where labels are plain text, and of CoverageJSON, where they are
// given by language.
#pragma once

#include <string>
#include <string_view>

#include "core/catalogue/catalogue.h"
#include "core/prescription/hour_fit.h"
#include "service/output/json_writer.h"

namespace hakea::service {

enum class Labels : std::uint8_t { plain, by_language };

// One parameter as a member named by its key. `origin`: of this service, for the addresses of quantities that have no name in
// the CF table.
void write_parameter(JsonWriter& out, const core::QuantityRow& row, Labels labels, std::string_view origin);

// The fit of the hours to the unit's prescription: a parameter of three categories, and so without a unit.
inline constexpr std::string_view kFitParameter = "fit";
void write_fit_parameter(JsonWriter& out, Labels labels, std::string_view origin);
// The number of a category in a coverage.
int category_of(core::Fit fit);

// What a unit of measure is called; the code itself where it has no name here.
std::string_view unit_name(std::string_view ucum);

}  // namespace hakea::service
