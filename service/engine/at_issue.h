// What a run said of a unit when it was issued: judged alone, on what was known by then. The same whenever it is asked and in
// whichever order runs arrived, so that runs can be compared with each other and with what came.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/days/evaluate.h"
#include "service/engine/carried_days.h"
#include "service/engine/judge.h"
#include "service/engine/verification.h"

namespace hakea::service {

// Runs that are older by more than this give no hours before a run.
inline constexpr std::chrono::days kHoursBefore{4};

class AtIssue {
 public:
  // `known`: other runs that foretell, of which those that are older by a few days at most give the hours before, where nothing
  // was seen then. The unit must outlive it.
  AtIssue(const Unit& unit, UnitRunPtr run, const std::vector<UnitRunPtr>& known, const CarriedDays& carried,
          const ObservedWeather& seen);

  const UnitRun& run() const { return *run_; }
  // The hours from a few days before its reference time on, the rows wanted computed.
  Points hours(const core::Rows& wanted) const;

  struct OnDate {
    LocalDate date{};
    core::Verdict weather = core::Verdict::unknown;
    std::optional<core::MemberCount> members;
  };
  // The verdict of the weather on its dates; what people decided plays no part.
  std::vector<OnDate> said(const Points& hours) const;

 private:
  const Unit* unit_;
  UnitRunPtr run_;
  UnitWeatherRecord record_;
};

// What that rests on besides the unit as it was entered, as a text that changes with it: the run, those before it, the
// carried state, what was seen, and how old the fuel is by now.
std::string key_at_issue(const Unit& unit, const RunRow& run, const std::vector<UnitRunPtr>& known, const CarriedDays& carried,
                         const ObservedWeather& seen);

// What earlier runs said of a unit's dates, kept from picture to picture by the run's id.
struct SaidAtIssue {
  std::string key;
  std::vector<AtIssue::OnDate> dates;
};

// How many runs before the newest are asked whether they said the same [our own default].
inline constexpr std::size_t kRunsAsked = 3;

// Puts to each day what was measured beside it, and gives it its word: how many of the earlier runs said the same, and, once
// enough days have been verified, how many of the windows that its feed called so far ahead came.
void weigh(std::vector<core::Day>& days, const std::vector<const SaidAtIssue*>& earlier, const Verification* verified,
           const std::string& feed);

}  // namespace hakea::service
