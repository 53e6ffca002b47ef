// Days, times and quantities as people say them aloud.
#pragma once

#include <string>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/days/day.h"
#include "core/days/open_burn.h"
#include "core/prescription/prescription.h"
#include "service/output/time_text.h"

namespace hakea::service {

std::string weekday_name(LocalDate date);                  // Friday
std::string spoken_date(LocalDate date);                   // Friday 2 April
std::string spoken_time(UtcTime t, const TimeZone& zone);  // Friday 15:00
bool changes_clock(LocalDate date, const TimeZone& zone);
// "10:00 to 17:00"; the end's day where it is another one, offsets where the clock changes on a date it touches.
std::string spoken_span(UtcTime start, UtcTime end, const TimeZone& zone);

// What a quantity is called in a short sentence: "litter moisture", "calculated FFDI".
std::string spoken(const core::QuantityRow& quantity);
std::string spoken(const core::Limit& limit);
std::string spoken(core::Verdict verdict);  // "near miss"
// "gust 55 km/h Friday 15:00".
std::string spoken(std::string_view what, const core::WorstHour& worst, std::string_view unit, const TimeZone& zone);

std::string capital(std::string text);                                                 // "Rain of 2 mm"
std::string counted(std::size_t number, std::string_view one, std::string_view many);  // "2 crews"
std::string listed(const std::vector<std::string>& names);                             // "a, b and c"

}  // namespace hakea::service
