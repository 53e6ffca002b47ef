// What calendars show, kept up with each picture: the step of core/alert/calendar.h for every unit and date, written where
// something changed. Reading a calendar changes nothing; a picture that was seen already, or comes again after a restart,
// neither. What could not be written is decided again at the next look.
#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <utility>

#include "service/engine/snapshot.h"
#include "service/store/store.h"

namespace hakea::service {

class Calendars {
 public:
  // `store` must outlive it, and must have calendars.
  explicit Calendars(Store& store);

  // From any thread; a picture older than the last one seen is not looked at.
  Result<bool> look(std::shared_ptr<const Snapshot> picture);
  // Another engine counts its pictures from the beginning.
  void begin_again();

 private:
  struct Booked {
    bool is_committed = false, is_lit = false;
    bool operator==(const Booked&) const = default;
  };
  using BookedDates = std::map<LocalDate, Booked>;
  using BookedUnits = std::map<std::string, BookedDates, std::less<>>;

  static BookedUnits booked_in(const Snapshot& picture);
  static core::CalendarDay day_of(const Snapshot& picture, const UnitView& view, LocalDate date, const BookedDates& booked);
  Result<bool> step(const Snapshot& picture, const UnitView& view, const BookedDates& booked, CalendarCommit& commit) const;
  Result<bool> step_without(const Snapshot& picture, const std::string& unit, CalendarCommit& commit) const;

  CalendarStore& calendars_;
  std::mutex looking_;
  std::shared_ptr<const Snapshot> picture_;  // the last one whose entries are written
  BookedUnits booked_;                       // in it
};

}  // namespace hakea::service
