// The sections of the digest, each a function from the picture to its lines.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "service/tell/digest.h"

namespace hakea::service {

// What all sections look at.
struct Morning {
  const Snapshot& snapshot;
  const DistrictView& district;
  LocalDate date;
  std::vector<const UnitView*> units;  // of the district, by id
  bool has_days = false;               // some unit has been judged

  Morning(const Snapshot& snapshot, const DistrictView& district, LocalDate date);
};

using DigestLines = std::vector<DigestLine>;

// A line that concerns the whole district.
inline DigestLine line_of(std::string text) { return {.unit = {}, .text = std::move(text), .date = {}, .verdict = {}}; }

// What makes a day doubtful: models that do not reach so far ("; rate of spread and flame height are outside their models'
// domains for up to 9 hours"), a night that keeps its smoke ("; night smoke limit not met, an end by 16:00 is advised"), and
// its flags. Empty where nothing does.
std::string doubt_words(const core::Day& day, const TimeZone& zone);

DigestLines stops_lines(const Morning& morning);
DigestLines open_burn_lines(const Morning& morning);
DigestLines planned_lines(const Morning& morning);
DigestLines changed_lines(const Morning& morning, const SaidBefore* before);
DigestLines candidate_lines(const Morning& morning);
// What could be done together, and which units lose out to the others.
void say_plan(const Morning& morning, const Result<SharedProposal>& plan, DigestLines& lines);
DigestLines near_miss_lines(const Morning& morning);
DigestLines later_lines(const Morning& morning);
DigestLines season_lines(const Morning& morning);

}  // namespace hakea::service
