#include "service/http/call.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "core/base/words.h"
#include "core/catalogue/catalogue.h"
#include "service/http/conditional.h"
#include "service/http/entries.h"
#include "service/http/standing.h"
#include "service/output/json_text.h"

namespace hakea::service {
namespace {

Problem lost_race(int current) {
  return {412,
          "changed_meanwhile",
          "It was changed meanwhile",
          current == 0 ? "there is nothing of that name any more" : fmt::format("its revision is now {}", etag(current)),
          {}};
}

Response refused_by_store(const Call& call, const Error& error) {
  if (error.code == "changed_meanwhile") return call.refuse({412, error.code, "It was changed meanwhile", error.what, {}});
  return call.refuse({503, error.code, "Nothing was stored", error.what + (error.hint.empty() ? "" : "; " + error.hint), {}});
}

// The first change that a token held to units may not make, or null. Whoever is on duty may forbid anything; what is lifted or
// changed must be of their units, as everything else.
const Change* change_beyond_units(const Call& call, const std::vector<Change>& changes) {
  if (call.actor.units.empty()) return nullptr;
  const auto is_beyond = [&](const std::string& body) {
    const auto read = parse_json(body, "body");
    return !read || !call.actor.may_write_unit(text_member(what_about(*read), "unit"));
  };
  for (const Change& change : changes) {
    if (change.kind == EntryKind::unit || change.kind == EntryKind::prescription) {
      if (!call.actor.may_write_unit(change.id.substr(0, change.id.find('/')))) return &change;
      continue;
    }
    if (change.kind == EntryKind::stop && change.id.empty()) continue;
    if (change.kind == EntryKind::subscription) continue;  // it is of a person
    if (change.body && is_beyond(*change.body)) return &change;
    if (change.id.empty()) continue;
    const auto standing = call.parts.store->entry(change.kind, change.id);
    if (!standing || (*standing && is_beyond((*standing)->body))) return &change;
  }
  return nullptr;
}

}  // namespace

std::optional<std::string> Call::query(std::string_view name) const {
  for (const auto& [key, value] : request.query)
    if (key == name && !value.empty()) return value;
  return std::nullopt;
}

Response Call::not_found(std::string_view what, std::string_view id) const {
  return refuse({404, "not_found", "There is no such thing", fmt::format("there is no {} \"{}\"", what, id), {}});
}

Response Call::other_district() const {
  return refuse({403,
                 "other_district",
                 "This token is for other districts",
                 fmt::format("it is for {}", fmt::join(actor.districts, ", ")),
                 {}});
}

Response Call::store_failed(const Error& error) const {
  return refuse({503, error.code, "The store does not answer", error.what, {}});
}

FoundUnit find_unit(const Call& call, const std::string& id) {
  const UnitView* view = call.picture->unit(id);
  if (!view) {
    Response refused = call.not_found("unit", id);
    if (call.picture->retired.contains(id))
      refused = call.refuse({404, "retired", "This unit is retired", fmt::format("the unit \"{}\" is retired", id), {}});
    return {nullptr, refused};
  }
  if (!call.may_see(view->unit.district)) return {nullptr, call.other_district()};
  return {view, {}};
}

FoundDistrict one_district(const Call& call) {
  std::vector<std::string> seen;
  for (const auto& [id, view] : call.picture->districts)
    if (call.may_see(id)) seen.push_back(id);
  const auto wanted = call.query("district");
  if (!wanted && seen.size() == 1) return {&call.picture->districts.find(seen.front())->second, {}};
  if (!wanted)
    return {nullptr, call.refuse(mistakes_of_query({{ErrorKind::invalid, "required", "?district", "there are several districts",
                                                     fmt::format("write one of {}", fmt::join(seen, ", "))}}))};
  const auto found = call.picture->districts.find(*wanted);
  if (found == call.picture->districts.end()) return {nullptr, call.not_found("district", *wanted)};
  if (!call.may_see(*wanted)) return {nullptr, call.other_district()};
  return {&found->second, {}};
}

std::optional<LocalDate> query_date(const Call& call, std::string_view name, Errors& mistakes) {
  const auto text = call.query(name);
  if (!text) return std::nullopt;
  const auto date = parse_date(*text);
  if (!date)
    mistakes.push_back({ErrorKind::invalid, "not_a_date", fmt::format("?{}", name), fmt::format("\"{}\" is not a date", *text),
                        "write a date such as 2027-04-02"});
  return date;
}

std::optional<int> query_number(const Call& call, std::string_view name, int most, Errors& mistakes) {
  const auto text = call.query(name);
  if (!text) return std::nullopt;
  if (const auto number = parse_whole_number(*text, 1, most)) return number;
  mistakes.push_back({ErrorKind::invalid, "out_of_range", fmt::format("?{}", name), fmt::format("{} is \"{}\"", name, *text),
                      fmt::format("write a whole number from 1 to {}", most)});
  return std::nullopt;
}

std::optional<UtcTime> query_instant(const Call& call, std::string_view name, Errors& mistakes) {
  const auto text = call.query(name);
  if (!text) return std::nullopt;
  const auto instant = parse_instant(*text);
  if (instant) return *instant;
  mistakes.push_back(
      {ErrorKind::invalid, instant.error().code, fmt::format("?{}", name), instant.error().what, instant.error().hint});
  return std::nullopt;
}

std::vector<std::string> query_list(const Call& call, std::string_view name) {
  const std::string text = call.query(name).value_or("");
  const auto list = words(text, ',');
  return {list.begin(), list.end()};
}

std::optional<std::string> query_word(const Call& call, std::string_view name, std::span<const std::string_view> known,
                                      Errors& mistakes) {
  const auto text = call.query(name);
  if (!text || std::find(known.begin(), known.end(), *text) != known.end()) return text;
  mistakes.push_back({ErrorKind::invalid, "unknown_word", fmt::format("?{}", name),
                      fmt::format("there is no {} \"{}\"", name, *text), fmt::format("write one of {}", fmt::join(known, ", "))});
  return std::nullopt;
}

std::string query_which(const Call& call, Errors& mistakes) {
  std::string which = call.query("which").value_or("main");
  if (which != "main" && which != "edging")
    mistakes.push_back({ErrorKind::invalid, "unknown_word", "?which", fmt::format("there is no prescription \"{}\"", which),
                        "write main or edging"});
  return which;
}

Error unknown_quantity(std::string where, std::string_view key) {
  std::vector<std::string_view> known;
  for (const core::QuantityRow& row : core::catalogue()) known.push_back(row.key);
  const std::string_view near = nearest(key, known);
  return {ErrorKind::invalid, "unknown_quantity", std::move(where), fmt::format("\"{}\" is no quantity", key),
          near.empty() ? fmt::format("{}/quantities lists them", kApiRoot) : fmt::format("did you mean \"{}\"?", near)};
}

std::string etag(int revision) { return fmt::format("\"r{}\"", revision); }

Expected expected_revision(const Call& call, int current) {
  const std::string_view match = call.request.header("if-match"), none_match = call.request.header("if-none-match");
  if (!none_match.empty() && current != 0 && (none_match == "*" || names_revision(none_match, current)))
    return {{}, call.refuse(lost_race(current))};
  if (!match.empty()) {
    if (current == 0 || !names_revision(match, current)) return {{}, call.refuse(lost_race(current))};
    return {current, {}};
  }
  if (current == 0) return {0, {}};
  // A person with curl at the demo may leave it out.
  if (call.is_by_token())
    return {{},
            call.refuse({428,
                         "if_match_required",
                         "Say which revision this replaces",
                         fmt::format("send the ETag of what you have read as If-Match; it is now {}", etag(current)),
                         {}})};
  return {};
}

Written write(const Call& call, const std::vector<Change>& changes, const std::optional<std::set<std::string>>& units,
              const Store::Beside& beside) {
  Written written;
  if (const Change* foreign = change_beyond_units(call, changes)) {
    written.refused = call.refuse({403,
                                   "other_unit",
                                   "This token is for other units",
                                   fmt::format("{} is not of {}", foreign->id.empty() ? word(foreign->kind) : foreign->id,
                                               fmt::join(call.actor.units, ", ")),
                                   {}});
    return written;
  }
  auto entries = call.parts.store->write(call.actor, call.now, changes, call.keyed, beside);
  if (!entries) {
    written.refused = refused_by_store(call, entries.error());
    return written;
  }
  written.entries = *std::move(entries);
  if (units) {
    const auto judged = call.parts.engine->judge_again(*units);
    if (!judged)
      // Not a success: what is shown does not yet rest on what was entered.
      written.refused = call.refuse({500,
                                     "stored_not_judged",
                                     "Stored, but not judged yet",
                                     "what you sent is stored; the days shown do not rest on it yet: " + judged.error().what,
                                     {}});
  }
  written.picture = call.parts.engine->snapshot();
  return written;
}

void forget_served_members(json::value& body) {
  if (auto* object = body.if_object())
    for (const std::string_view name : kServedMembers) object->erase(name);
}

std::string entry_json(const Entry& entry) {
  JsonWriter more;
  more.begin_object();
  more.text("id", entry.id).whole("revision", entry.revision).end_object();
  return joined_objects(more.str(), entry.body);
}

Response entry_response(const Call& call, const Entry& entry, int status, std::string_view collection) {
  return entry_response(call, entry, status, collection, entry_json(entry));
}

Response entry_response(const Call& call, const Entry& entry, int status, std::string_view collection,
                        const std::string& object) {
  const auto body = parse_json(entry.body, entry.id);
  const auto picture = call.parts.engine->snapshot();
  const UnitView* unit = body ? picture->unit_or_retired(text_member(*body, "unit")) : nullptr;
  Response answer = unit ? answer_about(call, *picture, {unit}, object, status) : call.json(object, status);
  answer.headers.emplace_back("ETag", etag(entry.revision));
  if (status == 201) answer.headers.emplace_back("Location", fmt::format("{}/{}/{}", kApiRoot, collection, entry.id));
  return answer;
}

}  // namespace hakea::service
