#include "service/http/audit_rows.h"

#include <algorithm>

#include "service/http/entries.h"

namespace hakea::service {
namespace {

bool is_of_districts(const Call& call, const json::value& token) {
  const auto* object = token.if_object();
  const json::value* districts = object ? object->if_contains("districts") : nullptr;
  if (!districts || !districts->is_array() || districts->get_array().empty()) return false;
  return std::all_of(districts->get_array().begin(), districts->get_array().end(),
                     [&](const json::value& id) { return id.is_string() && call.may_see(std::string_view(id.get_string())); });
}

}  // namespace

bool may_see_audit_row(const Call& call, const AuditRow& row) {
  if (call.actor.districts.empty()) return true;
  const std::size_t slash = std::min(row.object.find('/'), row.object.size() - 1);
  const std::string kind = row.object.substr(0, slash), id = row.object.substr(slash + 1);
  if (kind == word(EntryKind::district)) return call.may_see(id);
  if (kind == word(EntryKind::unit) || kind == word(EntryKind::prescription)) {
    const UnitView* view = call.picture->unit_or_retired(id.substr(0, id.find('/')));
    return view && call.may_see(view->unit.district);
  }
  const auto body = parse_json(row.after.empty() ? row.before : row.after, "audit");
  if (kind == "token") return body && is_of_districts(call, *body);
  return body && body->is_object() && may_see_entry(call, *body);
}

}  // namespace hakea::service
