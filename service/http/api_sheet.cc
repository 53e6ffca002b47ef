// The unit day sheet of one unit and date, to be printed.
#include <fmt/format.h>

#include <algorithm>

#include "service/http/handlers.h"
#include "service/output/time_text.h"
#include "service/tell/day_sheet.h"

namespace hakea::service {

Response sheet_of_unit(const Call& call) {
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  const UnitView& view = *found.view;
  Errors mistakes;
  const auto asked = query_date(call, "date", mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const LocalDate date = asked.value_or(view.unit.traits.zone.date(call.now));
  const core::Day* day = day_on(view, date);
  if (!day) {
    const auto by_date = [](const core::Day& a, const core::Day& b) { return a.date < b.date; };
    const auto [first, last] = std::minmax_element(view.days.begin(), view.days.end(), by_date);
    return call.refuse({404,
                        "no_forecast",
                        "There is no forecast for this date",
                        view.days.empty() ? fmt::format("no forecast of {} has been read yet", view.unit.id)
                                          : fmt::format("the forecast of {} has no {}; it has {} to {}", view.unit.id,
                                                        date_text(date), date_text(first->date), date_text(last->date)),
                        {}});
  }
  Response answer{200, "text/html; charset=utf-8", day_sheet_html(make_day_sheet(*call.picture, view, *day, call.now)), {}};
  answer.headers.emplace_back("Content-Security-Policy", day_sheet_policy());
  return answer;
}

}  // namespace hakea::service
