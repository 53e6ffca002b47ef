// The verdict of one unit on one date, before people's decisions block it, and the limit that decides (INTERFACE §3
// "Windows", "Verdict", "Limiting").
//
// Every question - would the day be met without this limit, with that bound moved, with two hours less, if what is missing
// were in - is the same search with one set of hours left out or exchanged.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "core/days/date_limits.h"
#include "core/days/day.h"

namespace hakea::core {

// A unit's prescription held against its whole record: what all its dates share.
class Record {
 public:
  // The clock is that of the unit and of the hours, and outlives the record.
  Record(const UnitClock& clock, const Prescription& prescription, std::span<const UnitHours* const> points, UtcTime now);
  Record(const Record&) = delete;
  Record& operator=(const Record&) = delete;

  // Another feed's record of the same hours, which must outlive this one: where its tail is out, this one's is; so is an
  // hour in which it fails a stop. To be called before anything is asked.
  void heed(const Record& other);
  const std::vector<const Record*>& heeded() const { return heeded_; }

  const Prescription& prescription() const { return *prescription_; }
  const std::vector<LimitHours>& limits() const { return limits_; }
  const std::vector<const UnitHours*>& points() const { return points_; }
  const UnitClock& clock() const { return *clock_; }
  int hours() const { return hours_; }
  int now_index() const { return now_index_; }
  const DateLimits& on(LocalDate date) const;
  // Limit i with its bounds moved by `near`, on a date; null when the quantity has none.
  const DateLimit* widened_on(std::size_t limit, LocalDate date) const;
  // What decides a tail limit for a window that ends at hour index `end`: the first of all feeds in which it is out.
  StretchValue tail_of(std::size_t limit, const DateHours& date, int end) const;
  // The lowest and highest of a unit's several points in an hour; none for a direction, or a single point.
  std::optional<std::pair<float, float>> over_points(std::size_t quantity, int hour) const;
  // Fewest hours of a window, and fewest when the duration yields.
  int duration() const;
  int yielding_duration() const;

 private:
  struct Widened {
    Limit limit;
    std::optional<LimitHours> hours;
  };
  const Prescription* prescription_;
  std::vector<const UnitHours*> points_;
  const UnitClock* clock_;
  int hours_, now_index_;
  std::vector<LimitHours> limits_;
  std::vector<const Record*> heeded_;
  mutable std::map<LocalDate, DateLimits> dates_;
  mutable std::map<std::size_t, std::unique_ptr<Widened>> widened_;
  mutable std::map<std::pair<std::size_t, LocalDate>, DateLimit> widened_dates_;
};

// What is asked: which limits are left out or widened, how long a window must be, how sure one must be.
struct Variation {
  std::size_t without = kNoLimit;
  bool without_stops = false;
  std::size_t widen = kNoLimit;
  int min_hours = 0;  // 0 = the prescription's duration
  Certainty certainty = Certainty::known;
};

class Judge {
 public:
  Judge(const Record& record, LocalDate date);

  Verdict weather() const;  // a search of its own
  bool is_met() const { return ask({}).is_met; }
  // Windows of the first date by offset, and those that would be if unknown hours were in.
  std::vector<Stretch> windows(Certainty certainty) const;
  // The longest stretches that keep everything but the duration.
  std::vector<Stretch> short_stretches() const;
  std::optional<Limiting> limiting() const;
  bool is_met_without(std::size_t limit) const { return ask({.without = limit}).is_met; }
  const DateLimits& first() const { return *dates_.front(); }
  // The last of the consecutive dates, and where its window ends (hour index); none if it has no window.
  const DateLimits& last() const { return *dates_.back(); }
  std::optional<int> last_window_end(int first_window_end, Certainty certainty) const;

 private:
  struct Answer {
    bool is_met = false;
    int longest = 0;  // hours of the longest window of the first date when met
  };
  Answer ask(const Variation& variation) const;
  int longest_stretch(std::size_t without) const;
  int hours_out(std::size_t limit) const;
  Question question(std::size_t which, const Variation& variation) const;  // holds until the next one
  Limiting describe(std::size_t limit) const;

  const Record* record_;
  std::vector<const DateLimits*> dates_;              // the consecutive dates
  mutable std::vector<const DateLimit*> asked_of_{};  // of the last question: a judge asks dozens
};

}  // namespace hakea::core
