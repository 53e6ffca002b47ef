// Why a window begins and ends where it does, and the day in one sentence.
#pragma once

#include <string>

#include "core/catalogue/catalogue.h"
#include "core/days/judge.h"

namespace hakea::core {

// What keeps a stretch from beginning an hour earlier, from ending an hour later (offsets on the judge's first date).
WindowEdge what_opens(const Record& record, const Judge& judge, Stretch stretch, Certainty certainty);
WindowEdge what_closes(const Record& record, const Judge& judge, Stretch stretch, Certainty certainty);

// "Friday 10:00-17:00, seven hours; opens when litter falls to 16 %; ends with the light-up hours".
std::string why(const Record& record, const UnitTraits& unit, const Day& day);

// A quantity as it is called inside a sentence ("litter moisture"), on a day with what is said of its model ("grass
// moisture (provisional model)") and of its start ("Keetch-Byram drought index (spin-up)"), and what a limit asks ("needs at
// most 16 %").
std::string lower_title(const QuantityRow& quantity);
std::string with_standing(std::string name, std::size_t quantity, const Day& day);
std::string needs_text(const Limit& limit);
std::string scope_text(const Limit& limit);  // " in the days after"; empty for hours of the window
// Whether a value of this quantity would have passed on this day, and does not, since it is outside its model's domain.
bool is_out_of_domain(std::size_t quantity, const Day& day);
bool is_missing_for(std::size_t quantity, Reason reason, const Day& day);
// What makes a tail unknown: "tail reaches beyond the forecast", or else what is not known in it.
std::string unknown_tail_text(const Prescription& prescription, const Day& day);

std::string weekday_in_words(LocalDate date);  // Friday
std::string date_in_words(LocalDate date);     // Friday 2 April
std::string iso_date(LocalDate date);          // 2027-04-02

// A number as people write it: whole above 100, one decimal below, no trailing zero.
std::string in_words(double value);
std::string with_unit(double value, std::string_view unit);

}  // namespace hakea::core
