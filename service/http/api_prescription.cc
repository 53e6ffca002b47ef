// /units/{id}/prescription and /trial: what is written, and what another writing would give.
#include <fmt/format.h>

#include "service/http/days_json.h"
#include "service/http/handlers.h"
#include "service/http/shown_hours.h"
#include "service/http/standing.h"
#include "service/input/prescription_json.h"
#include "service/output/json_text.h"

namespace hakea::service {
namespace {

// The entry that holds a unit's prescription; none where nothing was entered.
std::optional<Entry> entry_of(const Call& call, const std::string& id) {
  const auto stored = call.parts.store->entry(EntryKind::prescription, id);
  if (!stored || !*stored || (*stored)->is_withdrawn) return std::nullopt;
  return **stored;
}

Response prescription_response(const Call& call, const Snapshot& picture, const UnitView& view, const std::string& which,
                               const std::string& body, int revision, int status) {
  JsonWriter head;
  head.begin_object().text("unit", view.unit.id).text("which", which).whole("revision", revision).end_object();
  Response answer = answer_about(call, picture, {&view}, joined_objects(head.str(), body), status);
  answer.headers.emplace_back("ETag", etag(revision));
  return answer;
}

// The prescription in a body, with what answers add taken out.
Result<json::value> prescription_of(const Call& call) {
  auto body = call.body();
  if (!body) return body.errors();
  forget_served_members(*body);
  if (auto* object = body->if_object())
    for (const char* name : {"unit", "which"}) object->erase(name);
  return body;
}

}  // namespace

Response show_prescription(const Call& call) {
  Errors mistakes;
  const std::string which = query_which(call, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  const UnitView& view = *found.view;
  if (which == "main" && !view.prescription_json.empty())
    return prescription_response(call, *call.picture, view, which, view.prescription_json, view.prescription_revision, 200);
  const auto entry = which == "main" ? std::nullopt : entry_of(call, fmt::format("{}/{}", view.unit.id, which));
  if (!entry) return call.not_found("prescription", fmt::format("{}/{}", view.unit.id, which));
  return prescription_response(call, *call.picture, view, which, entry->body, entry->revision, 200);
}

Response put_prescription(const Call& call) {
  Errors mistakes;
  const std::string which = query_which(call, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  const auto body = prescription_of(call);
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  read_prescription(*body, "", mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));

  const std::string& unit = call.ids.front();
  const std::string id = fmt::format("{}/{}", unit, which);
  const auto current = entry_of(call, id);
  const Expected expected = expected_revision(call, current ? current->revision : 0);
  if (expected.refused) return *expected.refused;
  const Change change{EntryKind::prescription,          id, json_text(*body), expected.revision, current ? "replace" : "create",
                      call.query("reason").value_or("")};
  const Written written = write(call, {change}, std::set<std::string>{unit});
  if (written.refused) return *written.refused;
  const UnitView* view = written.picture->unit(unit);
  const Entry& entry = written.entries.front();
  return prescription_response(call, *written.picture, view ? *view : *found.view, which, entry.body, entry.revision,
                               current ? 200 : 201);
}

Response try_prescription(const Call& call) {
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  const UnitView& view = *found.view;
  if (const auto run = call.query("run"); run && (!view.run || view.run->id != *run))
    return call.refuse({404,
                        "not_found",
                        "That run is not the one days rest on",
                        view.run ? fmt::format("the days rest on {}", view.run->id) : "there is no run yet",
                        {}});
  const auto body = prescription_of(call);
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  Errors mistakes;
  const core::Prescription prescription = read_prescription(*body, "", mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  const std::vector<core::Day> days = trial_days(*call.picture, view, prescription);
  const std::string answer = joined_objects(days_json(view.unit, days, prescription), changed_json(view.days, days));
  return answer_about(call, {&view}, joined_objects(answer, hours_on_trial_json(view, prescription, call.picture->now)));
}

}  // namespace hakea::service
