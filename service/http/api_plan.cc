// /plan: the best set of units and dates that a district's means allow, and why each other pair is not in it. It proposes and
// books nothing.
#include <fmt/format.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "service/engine/planner.h"
#include "service/http/handlers.h"
#include "service/http/standing.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

// Longest span of dates one plan is made for.
constexpr std::chrono::days kDatesAtMost{62};

// Reads what is asked: {"from","to","with":[{"unit","date"}],"without":[{"unit","date"}],"means":{…}}, all of which may be left
// out. Pairs of `without` may name a unit or a date alone: then all its dates, or all units, are meant.
class QuestionReader {
 public:
  QuestionReader(const Snapshot& picture, const DistrictView& district, Errors& mistakes)
      : picture_(picture), district_(district), mistakes_(mistakes) {}

  PlanWish read(const json::value& body) {
    JsonObject question(body, "", mistakes_);
    read_dates(question);
    if (const json::array* pairs = question.list("with"))
      for (std::size_t i = 0; i < pairs->size(); ++i) read_pair((*pairs)[i], pointer_to("/with", i), true, wish_.with);
    if (const json::array* pairs = question.list("without"))
      for (std::size_t i = 0; i < pairs->size(); ++i) read_pair((*pairs)[i], pointer_to("/without", i), false, wish_.without);
    refuse_both();
    wish_.means = district_.district.means;
    if (const json::value* value = question.find("means")) {
      JsonObject means(*value, "/means", mistakes_);
      read_means(means, wish_.means);
      means.refuse_unknown_members();
    }
    question.refuse_unknown_members();
    return std::move(wish_);
  }

 private:
  void read_dates(JsonObject& question) {
    const LocalDate today = district_.zone->date(picture_.now);
    const auto at_hand = dates_at_hand(picture_, district_.district.id).value_or(std::pair(today, today));
    const auto from = question.date("from"), to = question.date("to");
    wish_.from = from.value_or(std::min(at_hand.first, to.value_or(at_hand.first)));
    wish_.to = to.value_or(std::max(at_hand.second, wish_.from));
    if (wish_.from > wish_.to)
      question.refuse("from", "reversed", "from is after to", "put the earlier date first");
    else if (wish_.to - wish_.from > kDatesAtMost)
      question.refuse(
          "to", "out_of_range",
          fmt::format("{} to {} are more than {} dates", date_text(wish_.from), date_text(wish_.to), kDatesAtMost.count()),
          "ask for fewer");
  }

  void read_pair(const json::value& value, const std::string& pointer, bool is_whole, std::vector<core::UnitDate>& pairs) {
    JsonObject pair(value, pointer, mistakes_);
    if (is_whole) {
      pair.require("unit", "write the id of a unit");
      pair.require("date", "write the date that it is to begin on");
    } else if (value.is_object() && !pair.has("unit") && !pair.has("date")) {
      pair.refuse("unit", "required", "neither unit nor date is given", "write the unit, the date or both");
    }
    const auto unit = pair.text("unit");
    const auto date = pair.date("date");
    if (unit) refuse_unknown(pair, *unit);
    if (date && (*date < wish_.from || *date > wish_.to))
      pair.refuse(
          "date", "out_of_range",
          fmt::format("{} is not among the dates from {} to {}", date_text(*date), date_text(wish_.from), date_text(wish_.to)),
          "ask for more dates, or leave it out");
    pair.refuse_unknown_members();
    if (!mistakes_.empty()) return;
    for (const auto& [id, view] : picture_.units)
      for (LocalDate each = wish_.from; each <= wish_.to; each += std::chrono::days(1))
        if (view->unit.district == district_.district.id && (!unit || *unit == id) && (!date || *date == each) &&
            (is_whole || day_on(*view, each)))
          pairs.push_back({id, each});
  }

  void refuse_unknown(JsonObject& pair, const std::string& unit) {
    std::vector<std::string> known;
    for (const auto& [id, view] : picture_.units)
      if (view->unit.district == district_.district.id) known.push_back(id);
    if (std::find(known.begin(), known.end(), unit) != known.end()) return;
    const std::string_view near = nearest(unit, known);
    pair.refuse("unit", "unknown_unit", fmt::format("{} has no unit \"{}\"", district_.district.name, unit),
                near.empty() ? "write the id of one of its units" : fmt::format("did you mean \"{}\"?", near));
  }

  void refuse_both() {
    for (std::size_t i = 0; i < wish_.with.size(); ++i)
      if (std::find(wish_.without.begin(), wish_.without.end(), wish_.with[i]) != wish_.without.end())
        mistakes_.push_back(
            {ErrorKind::invalid, "contradictory", pointer_to("/with", i),
             fmt::format("{} on {} is also among those to leave out", wish_.with[i].unit, date_text(wish_.with[i].date)),
             "take it out of one of the two"});
  }

  const Snapshot& picture_;
  const DistrictView& district_;
  Errors& mistakes_;
  PlanWish wish_;
};

void write_needs(JsonWriter& out, const core::Needs& needs) {
  out.begin_object().whole("crews", needs.crews).whole("tankers", needs.tankers).whole("aircraft", needs.aircraft);
  out.whole("plant", needs.plant);
  if (!needs.depot.empty()) out.text("depot", needs.depot);
  out.number("travel_h", needs.travel_h).whole("patrol_crews", needs.patrol_crews).whole("patrol_days", needs.patrol_days);
  out.end_object();
}

std::string proposal_json(const Snapshot& picture, const core::Proposal& proposal) {
  JsonWriter out;
  out.begin_object().key("burns").begin_list();
  for (const core::ProposedBurn& burn : proposal.burns) {
    const UnitView& view = *picture.unit(burn.unit);
    out.begin_object().text("unit", burn.unit).text("date", date_text(burn.date));
    write_window(out.key("window"), burn.window, view.unit.prescription, view.unit.traits.zone);
    write_needs(out.key("needs"), burn.needs);
    out.end_object();
  }
  out.end_list().key("lost").begin_list();
  for (const core::LostPair& lost : proposal.lost) {
    out.begin_object().text("unit", lost.unit).text("date", date_text(lost.date)).key("why").begin_object();
    out.text("kind", core::word(lost.kind)).text("text", lost.text).end_object().end_object();
  }
  out.end_list().yes_or_no("proven", proposal.proven).whole("value", proposal.value).whole("bound", proposal.bound);
  return out.end_object().str();
}

// Mistakes about units that are wanted, with pointers to where they are.
Errors placed(Errors errors, const PlanWish& wish) {
  for (Error& error : errors) {
    const auto wanted =
        std::find_if(wish.with.begin(), wish.with.end(), [&](const auto& pair) { return pair.unit == error.where; });
    error.where = wanted == wish.with.end() ? "/with" : pointer_to("/with", static_cast<std::size_t>(wanted - wish.with.begin()));
  }
  return errors;
}

Response answered(const Call& call, const DistrictView& district, const json::value& body) {
  const Snapshot& picture = *call.picture;
  Errors mistakes;
  const PlanWish wish = QuestionReader(picture, district, mistakes).read(body);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  const auto plan = call.parts.plans->get(picture, district, wish, call.parts.solver);
  if (!plan && (plan.error().kind == ErrorKind::failed || plan.error().kind == ErrorKind::unsupported))
    return call.refuse({503, plan.error().code, "No plan could be made", plan.error().what, {}});
  if (!plan) return call.refuse(mistakes_of_body(placed(plan.errors(), wish)));
  std::vector<const UnitView*> units;
  for (const auto& [id, view] : picture.units)
    if (view->unit.district == district.district.id) units.push_back(view.get());
  return call.json(joined_objects(proposal_json(picture, **plan), standing_json(picture, units, call.now)));
}

}  // namespace

Response show_plan(const Call& call) {
  const FoundDistrict found = one_district(call);
  if (!found.view) return found.refused;
  Errors mistakes;
  const auto from = query_date(call, "from", mistakes), to = query_date(call, "to", mistakes);
  if (from && to && *from > *to)
    mistakes.push_back({ErrorKind::invalid, "reversed", "?from", "from is after to", "put the earlier date first"});
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  json::object body;
  if (from) body["from"] = date_text(*from);
  if (to) body["to"] = date_text(*to);
  return answered(call, *found.view, body);
}

Response ask_plan(const Call& call) {
  const FoundDistrict found = one_district(call);
  if (!found.view) return found.refused;
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  return answered(call, *found.view, *body);
}

}  // namespace hakea::service
