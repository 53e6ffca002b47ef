// What past hours say of a unit, and what became of forecasts.
#include "service/engine/people.h"
#include "service/engine/stored_runs.h"
#include "service/http/handlers.h"
#include "service/http/standing.h"
#include "service/output/history_json.h"
#include "service/output/json_text.h"
#include "service/output/verification_json.h"

namespace hakea::service {

// From the tables of past years where the service has some of the unit, else from its own archive of runs.
Response history_of_unit(const Call& call) {
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  const UnitView& view = *found.view;
  JsonWriter out, source;
  source.begin_object().text("source", view.history ? "past_years" : "runs").end_object();
  if (view.history) {
    write_history(out, view.unit, *view.history);
  } else {
    const auto history = archive_history(*call.parts.store, *call.parts.config, view.unit,
                                         plan_of_unit(*call.picture, view.unit).holidays, entered_for(*call.picture, view.unit));
    if (!history) return call.refuse({503, history.error().code, "The archive cannot be read", history.error().what, {}});
    write_history(out, view.unit, *history);
  }
  return answer_about(call, {&view}, joined_objects(out.str(), source.str()));
}

Response verification_of_unit(const Call& call) {
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  JsonWriter out;
  write_verification(out, found.view->unit, found.view->verified.get());
  return answer_about(call, {found.view}, out.str());
}

// Of all units of a district together: a single one seldom has enough days to tell.
Response verification_of_district(const Call& call) {
  const std::string& id = call.ids.front();
  if (!call.picture->districts.contains(id)) return call.not_found("district", id);
  if (!call.may_see(id)) return call.other_district();
  std::vector<const UnitView*> units;
  std::map<std::string, const Verification*> verified;
  for (const auto& [unit, view] : call.picture->units) {
    if (view->unit.district != id) continue;
    units.push_back(view.get());
    if (view->verified) verified.emplace(unit, view->verified.get());
  }
  JsonWriter out;
  write_verification(out, id, verified);
  return answer_about(call, units, out.str());
}

}  // namespace hakea::service
