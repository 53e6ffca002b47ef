// Which intervals the amounts, means and extremes of a run belong to, and how its files count them (atmosphere.md 7.3).
#pragma once

#include <vector>

#include "ingest/run/candidate.h"
#include "ingest/run/forecast_run.h"
#include "ingest/run/variable.h"

namespace hakea::ingest {

// Sets the plan's accumulation and the intervals of its field_times. Fields of one quantity are judged together, whatever
// their files; one that is measured otherwise than the first of them (a rate beside an amount) is refused. `origin` holds
// the candidate of each field.
void count_amounts(RunPlan& plan, const std::vector<const Candidate*>& origin, const Grids& grids);

}  // namespace hakea::ingest
