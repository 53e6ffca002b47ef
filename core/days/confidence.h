// The word of confidence of a day, from what was measured.
#pragma once

#include "core/days/day.h"

namespace hakea::core {

// The word of the lead (firm 0-1 days ahead, likely 2-3, possible 4-6, early from 7 on), and one word less for each of [our own
// defaults]: a day up to three days ahead that a quarter of a forecast error would undo (a near miss is one), fewer than four
// in five members in one class, a feed that says otherwise, more than a third of the runs before saying otherwise, called
// windows of which less than half came. What was measured never makes a far day firm.
Confidence confidence_of(const Evidence& evidence);

// Whether two verdicts on the weather say the same to who plans: a window, or none; unknown says nothing.
bool says_nothing(Verdict verdict);
bool says_the_same(Verdict a, Verdict b);

}  // namespace hakea::core
