// What a record of past hours says of a prescription: how often its days were met, what it lost its hours to, and what would
// gain most. The same evaluation as of a forecast; of people's decisions only the prescription's own calendar counts.
#pragma once

#include <array>
#include <optional>
#include <set>
#include <span>
#include <utility>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "core/days/day.h"

namespace hakea::core {

struct HistoryInput {
  const UnitTraits* unit = nullptr;
  const Prescription* prescription = nullptr;
  // By point, of each the first member; shaped as DayInput::points, rows computed.
  std::span<const std::vector<UnitHours>> points;
  std::optional<LocalDate> from, to;  // both included; none: as far as the record goes
  std::set<LocalDate> holidays{};
};

struct History {
  struct OnDate {
    LocalDate date{};
    Verdict verdict = Verdict::unknown;
  };
  struct InYear {
    int year = 0, met = 0;
  };
  // Light-up hours that a limit is out in, with every other limit not out (alone) or some other out too (together). A day or
  // tail limit that fails loses all hours of its day. Preferences lose none and are not listed.
  struct Lost {
    std::size_t limit = kNoLimit;
    int alone = 0, together = 0;
  };
  struct Relaxation {
    std::size_t limit = kNoLimit;
    int gain_days = 0;
  };

  std::vector<OnDate> dates;  // in order
  int met = 0, unknown = 0;
  std::array<int, 12> by_month{};
  std::vector<InYear> by_year;
  std::vector<Lost> hours_lost;  // on days that the prescription's calendar permits
  // Pairs of limits, each of them in at some light-up hour and never both at once.
  std::vector<std::pair<std::size_t, std::size_t>> never_together;
  // The limit without which most days more would be met; of equals the first. None where none gains a day.
  std::optional<Relaxation> best_relaxation;

  // 1 - met days a year / 366, once about a year of days is known.
  std::optional<double> rarity() const;
};

History history_of(const HistoryInput& input);

}  // namespace hakea::core
