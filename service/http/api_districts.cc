// /districts: depots, airsheds, holidays and whatever else a district says of itself.
#include <fmt/format.h>

#include "service/http/entries.h"
#include "service/http/handlers.h"
#include "service/http/paging.h"
#include "service/output/json_text.h"

namespace hakea::service {
namespace {

std::string district_json(const std::string& id, const DistrictView& view) {
  JsonWriter head;
  head.begin_object().text("id", id).whole("revision", view.revision).end_object();
  auto body = parse_json(view.json, id);
  if (body && body->is_object()) body->get_object().erase("id");
  return joined_objects(head.str(), body ? json_text(*body) : view.json);
}

Response district_response(const Call& call, const std::string& id, const DistrictView& view, int status) {
  Response answer = call.json(district_json(id, view), status);
  answer.headers.emplace_back("ETag", etag(view.revision));
  if (status == 201) answer.headers.emplace_back("Location", fmt::format("{}/districts/{}", kApiRoot, id));
  return answer;
}

}  // namespace

Response list_districts(const Call& call) {
  Errors mistakes;
  const PageAsked page = page_asked(call, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  std::string list, next;
  std::vector<std::string> listed;
  const auto& all = call.picture->districts;
  for (auto district = page.after ? all.upper_bound(*page.after) : all.begin(); district != all.end() && next.empty();
       ++district) {
    if (!call.may_see(district->first)) continue;
    if (listed.size() == page.limit) {
      next = next_page(call, listed.back());
    } else {
      (list += list.empty() ? "" : ",") += district_json(district->first, district->second);
      listed.push_back(district->first);
    }
  }
  Response answer = call.json(R"({"districts":[)" + list + "]}");
  add_next_link(answer, next);
  return answer;
}

Response show_district(const Call& call) {
  const std::string& id = call.ids.front();
  const auto found = call.picture->districts.find(id);
  if (found == call.picture->districts.end()) return call.not_found("district", id);
  if (!call.may_see(id)) return call.other_district();
  return district_response(call, id, found->second, 200);
}

Response put_district(const Call& call) {
  const std::string& id = call.ids.front();
  if (!call.may_see(id)) return call.other_district();
  auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  forget_served_members(*body);
  if (auto* object = body->if_object())
    if (!object->contains("id")) object->emplace("id", id);
  const auto read = read_at("/district", json::value{{"district", *body}});
  if (!read) return call.refuse(mistakes_of_body(read.errors()));
  if (read->id != id)
    return call.refuse(mistakes_of_body(
        {{ErrorKind::invalid, "different_id", "/id", fmt::format("the id \"{}\" is not that of the path", read->id),
          fmt::format("write \"{}\", or leave it out", id)}}));
  const auto stored = call.parts.store->entry(EntryKind::district, id);
  const int current = stored && *stored && !(*stored)->is_withdrawn ? (*stored)->revision : 0;
  const Expected expected = expected_revision(call, current);
  if (expected.refused) return *expected.refused;
  const Change change{EntryKind::district, id, json_text(*body), expected.revision, current ? "replace" : "create", ""};
  const Written written = write(call, {change}, std::set<std::string>{});
  if (written.refused) return *written.refused;
  const auto found = written.picture->districts.find(id);
  if (found == written.picture->districts.end()) return call.not_found("district", id);
  return district_response(call, id, found->second, current ? 200 : 201);
}

}  // namespace hakea::service
