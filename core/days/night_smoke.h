// Whether the night after a window carries its smoke away (hard case H8 of the trade: a perfect afternoon, and smoke in the
// valley at ten at night).
#pragma once

#include <optional>

#include "core/days/judge.h"

namespace hakea::core {

// The first limit, of any kind, that smoke hangs on and that the night after is out of, for a window of the judge's first date
// that ends at offset `end`. An earlier end is advised where the window begins before and ends after 15:00 standard time:
// USDA Forest Service 1989, A Guide for Prescribed Fire in Southern Forests, R8-TP 11, which has burning stopped by then when
// the night disperses poorly.
std::optional<NightSmoke> night_smoke_not_kept(const Record& record, const Judge& judge, Stretch window, Certainty certainty);

}  // namespace hakea::core
