// Ranked days of a unit and of all units, and the digest.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "service/http/days_json.h"
#include "service/http/handlers.h"
#include "service/http/standing.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"
#include "service/tell/digest.h"
#include "service/tell/official.h"
#include "service/tell/said.h"

namespace hakea::service {
namespace {

// Longest span of dates one answer gives.
constexpr std::chrono::days kDatesAtMost{62};
constexpr std::array kVerdicts{core::Verdict::met, core::Verdict::unknown, core::Verdict::near_miss, core::Verdict::out,
                               core::Verdict::blocked};

// The verdicts asked for; none asked for: all.
std::set<core::Verdict> verdicts_of(const Call& call, Errors& mistakes) {
  std::set<core::Verdict> wanted;
  std::vector<std::string_view> known;
  for (const core::Verdict verdict : kVerdicts) known.push_back(core::word(verdict));
  for (const std::string& name : query_list(call, "verdict")) {
    const auto found = std::find(known.begin(), known.end(), name);
    if (found == known.end())
      mistakes.push_back({ErrorKind::invalid, "unknown_word", "?verdict", fmt::format("\"{}\" is no verdict", name),
                          fmt::format("write some of {}, separated by commas", fmt::join(known, ", "))});
    else
      wanted.insert(kVerdicts[static_cast<std::size_t>(found - known.begin())]);
  }
  if (wanted.empty()) wanted.insert(kVerdicts.begin(), kVerdicts.end());
  return wanted;
}

// What two things are compared, from ?compare=A,B; nothing where it was not asked for.
std::optional<std::array<std::string, 2>> pair_asked(const Call& call, std::string_view what, Errors& mistakes) {
  const std::vector<std::string> names = query_list(call, "compare");
  if (names.empty()) return std::nullopt;
  if (names.size() == 2) return std::array{names[0], names[1]};
  mistakes.push_back({ErrorKind::invalid, "not_a_pair", "?compare", fmt::format("{} {} are named", names.size(), what),
                      fmt::format("write two {}, separated by a comma", what)});
  return std::nullopt;
}

// {"compared":…} of two of the days; empty where it was not asked for.
std::string compared_days(const Call& call, const UnitView& view, const core::Prescription& prescription,
                          const std::vector<core::Day>& days, Errors& mistakes) {
  const auto asked = pair_asked(call, "dates", mistakes);
  if (!asked) return "";
  std::array<const core::Day*, 2> pair{};
  for (std::size_t i = 0; i < 2; ++i) {
    const auto date = parse_date((*asked)[i]);
    const auto found = std::find_if(days.begin(), days.end(), [&](const core::Day& day) { return day.date == date; });
    if (found != days.end())
      pair[i] = &*found;
    else
      mistakes.push_back({ErrorKind::invalid, "unknown_date", "?compare",
                          fmt::format("\"{}\" is no date of this list", (*asked)[i]),
                          "write two of its dates such as 2027-04-02,2027-04-03"});
  }
  if (!mistakes.empty()) return "";
  JsonWriter out;
  out.begin_object().text("compared", core::compared(*pair[0], *pair[1], prescription, view.unit.traits));
  return out.end_object().str();
}

// The two units named by ?compare= that a caller may see; nulls where it was not asked for.
std::array<const UnitView*, 2> compared_units(const Call& call, Errors& mistakes) {
  std::array<const UnitView*, 2> pair{};
  const auto asked = pair_asked(call, "units", mistakes);
  for (std::size_t i = 0; asked && i < 2; ++i) {
    const UnitView* view = call.picture->unit((*asked)[i]);
    if (view && call.may_see(view->unit.district))
      pair[i] = view;
    else
      mistakes.push_back({ErrorKind::invalid, "unknown_unit", "?compare", fmt::format("there is no unit \"{}\"", (*asked)[i]),
                          "write the ids of two units, separated by a comma"});
  }
  return pair;
}

}  // namespace

Response days_of_unit(const Call& call) {
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  const UnitView& view = *found.view;
  Errors mistakes;
  const std::string which = query_which(call, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto edging = view.unit.prescriptions.find(which);
  if (which == "edging" && edging == view.unit.prescriptions.end())
    return call.not_found("prescription", view.unit.id + "/edging");
  const core::Prescription& prescription = which == "main" ? view.unit.prescription : edging->second;
  const std::vector<core::Day> days = which == "main" ? view.days : trial_days(*call.picture, view, prescription);
  const std::string comparison = compared_days(call, view, prescription, days, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  std::string answer = days_json(view.unit, days, prescription);
  if (const auto official = official_forecasts(*call.picture, view, call.picture->now); !official.empty())
    answer = joined_objects(answer, official_json(view, official));
  return answer_about(call, {&view}, comparison.empty() ? answer : joined_objects(answer, comparison));
}

Response days_of_all(const Call& call) {
  Errors mistakes;
  const auto from = query_date(call, "from", mistakes), to = query_date(call, "to", mistakes);
  const std::set<core::Verdict> wanted = verdicts_of(call, mistakes);
  const std::array<const UnitView*, 2> pair = compared_units(call, mistakes);
  if (from && to && *from > *to)
    mistakes.push_back({ErrorKind::invalid, "reversed", "?from", "from is after to", "put the earlier date first"});
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto district = call.query("district");
  if (district && !call.picture->districts.contains(*district)) return call.not_found("district", *district);
  if (district && !call.may_see(*district)) return call.other_district();

  std::set<LocalDate> dates;
  std::vector<const UnitView*> units;
  const auto is_asked_for = [&](const UnitView& view) {
    return call.may_see(view.unit.district) && (!district || view.unit.district == *district);
  };
  for (const auto& [id, view] : call.picture->units) {
    if (!is_asked_for(*view)) continue;
    units.push_back(view.get());
    for (const core::Day& day : view->days)
      if ((!from || day.date >= *from) && (!to || day.date <= *to)) dates.insert(day.date);
  }
  JsonWriter out;
  out.begin_object().key("days").begin_list();
  for (const LocalDate date : dates) {
    if (date - *dates.begin() > kDatesAtMost) break;
    out.begin_object().text("date", date_text(date)).key("units").begin_list();
    for (const UnitView* view : ranked_units(*call.picture, date)) {
      const core::Day* day = is_asked_for(*view) ? day_on(*view, date) : nullptr;
      if (!day || !wanted.contains(day->verdict)) continue;
      JsonWriter head, said;
      head.begin_object().text("unit", view->unit.id).end_object();
      write_day(said, *day, view->unit.prescription, view->unit.traits.zone);
      out.raw(joined_objects(head.str(), said.str()));
    }
    out.end_list();
    if (pair[0] && pair[1] && day_on(*pair[0], date) && day_on(*pair[1], date))
      out.text("compared", core::compared(standing_on(*pair[0], date), standing_on(*pair[1], date)));
    out.end_object();
  }
  out.end_list().end_object();
  return answer_about(call, units, out.str());
}

Response digest(const Call& call) {
  Errors mistakes;
  const auto date = query_date(call, "date", mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const FoundDistrict found = one_district(call);
  if (!found.view) return found.refused;
  const DistrictView& district = *found.view;
  const LocalDate shown = date.value_or(zone_of(district).date(call.now));
  const auto before = said_before(*call.parts.store, district, shown);
  if (!before) return call.store_failed(before.error());
  const auto [from, to] = planned_dates(shown);
  const auto plan = call.parts.plans->get(*call.picture, district, {from, to, district.district.means}, call.parts.solver);
  const Digest made = make_digest(*call.picture, district, shown, *before ? &**before : nullptr, &plan);
  if (call.type == "text/html")
    return {200, "text/html; charset=utf-8", digest_html(made), {{"Content-Security-Policy", std::string(kDigestPolicy)}}};
  if (call.type == "text/plain") return {200, "text/plain; charset=utf-8", digest_text(made), {}};
  return call.json(digest_json(made));
}

}  // namespace hakea::service
