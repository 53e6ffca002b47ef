// The plan of a district, from a published picture (INTERFACE §7 `/plan`): its days are taken as they were judged, and what
// a plan needs besides is told to the chooser: rarity, what is committed or burning, and the danger of each date. A plan is a
// proposal and books nothing.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "core/plan/plan.h"
#include "service/engine/snapshot.h"

namespace hakea::service {

// What is asked besides the picture.
struct PlanWish {
  LocalDate from{}, to{};  // dates that burns may begin on, both included
  DistrictMeans means;     // the district's, or what they would be
  std::vector<core::UnitDate> with{}, without{};
};

// The first and last date that a day of the district's units is at hand for; none before the first run.
std::optional<std::pair<LocalDate, LocalDate>> dates_at_hand(const Snapshot& picture, const std::string& district);

// Whether each date at hand stays clear of the danger on which crews stay free, by the worst of the district's units and of
// the feeds that each is judged by; with what is known of it in words. A unit that knows the quantity in no hour says nothing.
struct Danger {
  std::map<LocalDate, core::Fit> quiet;
  std::map<LocalDate, std::string> in_words;
};
Danger danger_of(const Snapshot& picture, const std::string& district, const core::Limit& quiet);

using SharedProposal = std::shared_ptr<const core::Proposal>;

// The same picture and wish give the same proposal. Errors: those of core::propose.
Result<SharedProposal> propose_burns(const Snapshot& picture, const DistrictView& district, const PlanWish& wish,
                                     const core::ProgramSolver& solver);

}  // namespace hakea::service
