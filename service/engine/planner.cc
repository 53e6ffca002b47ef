#include "service/engine/planner.h"

#include <fmt/format.h>

#include <algorithm>
#include <deque>

#include "core/days/explain.h"
#include "core/prescription/scopes.h"
#include "service/engine/judge.h"
#include "service/engine/weather_record.h"

namespace hakea::service {
namespace {

std::vector<const UnitView*> units_of(const Snapshot& picture, const std::string& district) {
  std::vector<const UnitView*> units;
  for (const auto& [id, view] : picture.units)
    if (view->unit.district == district) units.push_back(view.get());
  return units;
}

// What one unit says of the danger of a date.
struct Seen {
  core::Fit fit = core::Fit::unknown;
  core::StretchValue worst;
};

// By date, the worst of a feed's members that at least half of them reach: the verdict of days is that of more than half.
std::map<LocalDate, Seen> seen_by(const Unit& unit, const UnitWeatherRecord& weather, UnitWeatherRecord::Feed feed,
                                  const core::Prescription& asked, const std::set<LocalDate>& dates, UtcTime now) {
  std::map<LocalDate, Seen> seen;
  const Points points = computed(weather.hours(unit, feed), core::rows_of_limits(asked));
  const core::UnitHours& record = points.front().front();
  const core::UnitClock clock(unit.traits, asked, record.first, record.hours);
  std::vector<core::LimitHours> members;
  for (std::size_t m = 0; m < points.front().size(); ++m) {
    std::vector<const core::UnitHours*> of_member;
    for (const auto& point : points) of_member.push_back(&point[m < point.size() ? m : 0]);
    members.emplace_back(asked.limits.front(), asked, of_member);
  }
  const bool is_any_known = std::any_of(members.begin(), members.end(), [](const core::LimitHours& hours) {
    return hours.unknown_hours(0, hours.size()) < hours.size();
  });
  if (!is_any_known) return seen;
  for (const LocalDate date : dates) {
    std::vector<core::StretchValue> said;
    for (const core::LimitHours& hours : members)
      said.push_back(core::day_value(hours, clock.date(date), clock.index_ended(now)));
    std::stable_sort(said.begin(), said.end(),
                     [](const core::StretchValue& a, const core::StretchValue& b) { return a.fit < b.fit; });
    const core::StretchValue& middle = said[(said.size() - 1) / 2];
    seen[date] = {middle.fit, middle};
  }
  return seen;
}

// What bears on a pair is looked up by the plan while it is made.
class Asked {
 public:
  Asked(const Snapshot& picture, const DistrictView& district, const PlanWish& wish) {
    question_.now = picture.now;
    question_.from = wish.from;
    question_.to = wish.to;
    question_.means = wish.means.means;
    question_.with = wish.with;
    question_.without = wish.without;
    if (wish.means.quiet && question_.means.readiness.free_crews > 0) {
      Danger danger = danger_of(picture, district.district.id, *wish.means.quiet);
      question_.means.readiness.quiet = std::move(danger.quiet);
      question_.means.readiness.danger = std::move(danger.in_words);
    }
    for (const UnitView* view : units_of(picture, district.district.id)) add(picture, *view, true);
    for (const Booking& booking : district.district.bookings) commit(picture, district, booking);
    // What is committed is no proposal that could be left out.
    std::erase_if(question_.without, [&](const core::UnitDate& pair) {
      return std::any_of(question_.commitments.begin(), question_.commitments.end(),
                         [&](const core::Commitment& c) { return c.unit == pair.unit && c.date == pair.date; });
    });
  }

  const core::PlanQuestion& question() const { return question_; }

 private:
  void add(const Snapshot& picture, const UnitView& view, bool may_be_lit) {
    const Unit& unit = view.unit;
    core::PlannedUnit planned{.id = unit.id,
                              .name = unit.name,
                              .zone = &unit.traits.zone,
                              .plan = &plans_.emplace_back(plan_of_unit(picture, unit)),
                              .needs = unit.needs,
                              .area_ha = unit.area_ha,
                              .airshed = unit.airshed,
                              .consecutive_days = unit.prescription.consecutive_days,
                              .days = {}};
    if (may_be_lit && !view.days.empty()) {
      planned.rarity = standing_on(view, view.days.front().date).rarity;
      for (const core::Day& day : view.days) planned.days.push_back(&day);
    }
    question_.units.push_back(std::move(planned));
  }

  // What people have committed or lit takes crews whatever is proposed; what burns goes on burning when its unit is retired.
  void commit(const Snapshot& picture, const DistrictView& district, const Booking& booking) {
    const bool is_open = is_open_burn(booking);
    if (!is_open && booking.state != "committed") return;
    const UnitView* view = picture.unit_or_retired(booking.unit);
    if (!view || view->unit.district != district.district.id) return;
    const TimeZone& zone = view->unit.traits.zone;
    // A date that has passed without a light-up is no burn any more.
    const std::chrono::days last(view->unit.prescription.consecutive_days - 1);
    if (!is_open && booking.date + last < zone.date(picture.now)) return;
    const auto is_it = [&](const core::PlannedUnit& unit) { return unit.id == booking.unit; };
    if (std::none_of(question_.units.begin(), question_.units.end(), is_it)) add(picture, *view, false);
    const LocalDate date = is_open && booking.lit_at ? zone.date(*booking.lit_at) : booking.date;
    question_.commitments.push_back({booking.unit, date, is_open});
  }

  core::PlanQuestion question_;
  std::deque<core::UnitPlan> plans_;  // stay where they are
};

}  // namespace

std::optional<std::pair<LocalDate, LocalDate>> dates_at_hand(const Snapshot& picture, const std::string& district) {
  std::optional<std::pair<LocalDate, LocalDate>> dates;
  for (const UnitView* view : units_of(picture, district))
    for (const core::Day& day : view->days)
      dates =
          dates ? std::pair(std::min(dates->first, day.date), std::max(dates->second, day.date)) : std::pair(day.date, day.date);
  return dates;
}

Danger danger_of(const Snapshot& picture, const std::string& district, const core::Limit& quiet) {
  Danger danger;
  const auto at_hand = dates_at_hand(picture, district);
  if (!at_hand) return danger;
  std::set<LocalDate> dates;
  for (LocalDate date = at_hand->first; date <= at_hand->second; date += std::chrono::days(1)) dates.insert(date);
  core::Prescription asked;
  asked.limits = {quiet};
  const core::QuantityRow& quantity = core::catalogue()[quiet.quantity];
  std::map<LocalDate, double> furthest;  // the margin of the worst
  const auto take = [&](const UnitView& view, LocalDate date, const Seen& seen) {
    const auto [known, is_new] = danger.quiet.emplace(date, seen.fit);
    if (!is_new && seen.fit > known->second) return;
    const double margin = std::isnan(seen.worst.margin.own) ? 0 : seen.worst.margin.own;
    if (!is_new && seen.fit == known->second && margin >= furthest[date]) return;
    known->second = seen.fit;
    furthest[date] = margin;
    danger.in_words[date] = seen.fit == core::Fit::unknown
                                ? fmt::format("{} is not known at {}", core::lower_title(quantity), view.unit.name)
                                : fmt::format("{} is {} at {}", core::lower_title(quantity),
                                              core::with_unit(seen.worst.value, quantity.unit), view.unit.name);
  };
  for (const UnitView* view : units_of(picture, district)) {
    if (!view->weather) continue;
    const auto weather = whole_weather_of(*view);
    if (!weather)  // at hand, and not to be read
      for (const LocalDate date : dates) take(*view, date, {});
    if (!weather) continue;
    for (const auto& [date, seen] : seen_by(view->unit, *weather, std::nullopt, asked, dates, picture.now))
      take(*view, date, seen);
    if (weather->newest().size() < 2) continue;
    // Hazards take the worse; where a feed does not reach, it says nothing.
    for (const UnitRunPtr& run : weather->newest())
      for (const auto& [date, seen] : seen_by(view->unit, *weather, run->order, asked, dates, picture.now))
        if (seen.fit == core::Fit::out) take(*view, date, seen);
  }
  return danger;
}

Result<SharedProposal> propose_burns(const Snapshot& picture, const DistrictView& district, const PlanWish& wish,
                                     const core::ProgramSolver& solver) {
  const Asked asked(picture, district, wish);
  auto proposal = core::propose(asked.question(), solver);
  if (!proposal) return proposal.errors();
  return std::make_shared<const core::Proposal>(*std::move(proposal));
}

}  // namespace hakea::service
