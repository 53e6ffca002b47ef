// /tokens: made, listed and revoked by operators. A token's text is in the answer to the call that makes it, and nowhere else.
#include <fmt/format.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "service/access/tokens.h"
#include "service/http/handlers.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

std::string token_json(const Token& token, UtcTime now) {
  JsonWriter out;
  out.begin_object().text("id", token.id).text("name", token.name).text("role", word(token.role)).key("scopes").begin_list();
  for (const Scope scope : token.scopes ? *token.scopes : scopes_of(token.role)) out.text(word(scope));
  out.end_list().texts("districts", token.districts).texts("units", token.units);
  out.text("state", token.revoked_at ? "revoked" : token.expires_at <= now ? "expired" : "good");
  out.text("created_at", utc_text(token.created_at)).text("expires_at", utc_text(token.expires_at));
  write_time(out, "last_used_at", token.last_used_at);
  write_time(out, "revoked_at", token.revoked_at);
  return out.end_object().str();
}

// Whoever is held to districts or units sees and makes tokens that are held to no more than these.
bool is_within(const std::vector<std::string>& wanted, const std::set<std::string>& own) {
  return own.empty() ||
         (!wanted.empty() && std::all_of(wanted.begin(), wanted.end(), [&](const std::string& id) { return own.contains(id); }));
}

bool is_ours_to_manage(const Actor& actor, const Token& token) {
  return is_within(token.districts, actor.districts) && is_within(token.units, actor.units);
}

std::vector<std::string> ids_in(JsonObject& body, std::string_view member, std::string_view what,
                                const std::vector<std::string>& known) {
  std::vector<std::string> ids;
  const json::array* list = body.list(member);
  for (std::size_t i = 0; list && i < list->size(); ++i) {
    const json::value& value = (*list)[i];
    const std::string id = value.is_string() ? std::string(value.get_string()) : "";
    if (std::find(known.begin(), known.end(), id) != known.end()) {
      ids.push_back(id);
      continue;
    }
    const std::string_view near = nearest(id, known);
    body.mistakes().push_back(
        {ErrorKind::invalid, fmt::format("unknown_{}", what), pointer_to(body.at(member), i),
         fmt::format("there is no {} {}", what, shown(value)),
         near.empty() ? fmt::format("write the id of a {}", what) : fmt::format("did you mean \"{}\"?", near)});
  }
  return ids;
}

Token wanted_token(const Call& call, const json::value& value, Errors& mistakes) {
  Token wanted;
  JsonObject body(value, "", mistakes);
  wanted.name = body.text("name").value_or("");
  body.require("role", fmt::format("write one of {}", fmt::join(role_words(), ", ")));
  if (const auto role = body.word("role", role_words())) wanted.role = static_cast<Role>(*role);
  if (const json::array* scopes = body.list("scopes")) {
    wanted.scopes.emplace();
    for (std::size_t i = 0; i < scopes->size(); ++i) {
      const json::value& each = (*scopes)[i];
      if (const auto scope = each.is_string() ? scope_of(each.get_string()) : std::nullopt)
        wanted.scopes->insert(*scope);
      else
        mistakes.push_back({ErrorKind::invalid, "unknown_word", pointer_to(body.at("scopes"), i),
                            fmt::format("{} is no scope", shown(each)),
                            fmt::format("known: {}", fmt::join(scope_words(), ", "))});
    }
  }
  std::vector<std::string> districts, units;
  for (const auto& [id, view] : call.picture->districts) districts.push_back(id);
  for (const auto& [id, view] : call.picture->units) units.push_back(id);
  wanted.districts = ids_in(body, "districts", "district", districts);
  wanted.units = ids_in(body, "units", "unit", units);
  wanted.expires_at = body.instant("expires_at").value_or(call.now + kTokenLivesUsually);
  body.refuse_unknown_members();
  return wanted;
}

}  // namespace

Response list_tokens(const Call& call) {
  const auto tokens = call.parts.store->tokens();
  if (!tokens) return call.store_failed(tokens.error());
  std::string list;
  for (const Token& token : *tokens)
    if (is_ours_to_manage(call.actor, token)) (list += list.empty() ? "" : ",") += token_json(token, call.now);
  Response answer = call.json(R"({"tokens":[)" + list + "]}");
  answer.headers.emplace_back("Cache-Control", "no-store");
  return answer;
}

Response add_token(const Call& call) {
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  Errors mistakes;
  const Token wanted = wanted_token(call, *body, mistakes);
  const auto made = new_token(wanted, call.now);
  if (!made && made.error().kind == ErrorKind::failed) return call.store_failed(made.error());
  if (!made) mistakes.insert(mistakes.end(), made.errors().begin(), made.errors().end());
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  if (!is_ours_to_manage(call.actor, wanted))
    return call.refuse({403,
                        "other_district",
                        "This token is for other districts",
                        "a token that is held to districts or units makes tokens that are held to these",
                        {}});
  if (const auto kept = call.parts.store->add_token(call.actor, call.now, made->row); !kept)
    return call.store_failed(kept.error());
  JsonWriter shown_once;
  shown_once.begin_object().text("token", made->text).end_object();
  Response answer = call.json(joined_objects(token_json(made->row, call.now), shown_once.str()), 201);
  answer.headers.emplace_back("Location", fmt::format("{}/tokens/{}", kApiRoot, made->row.id));
  return answer;
}

Response revoke_token(const Call& call) {
  const auto token = call.parts.store->token(call.ids.front());
  if (!token) return call.store_failed(token.error());
  if (!*token || (*token)->revoked_at) return call.not_found("token that is not revoked", call.ids.front());
  if (!is_ours_to_manage(call.actor, **token)) return call.other_district();
  const auto revoked = call.parts.store->revoke_token(call.actor, call.now, call.ids.front());
  if (!revoked && revoked.error().code == "not_found") return call.not_found("token that is not revoked", call.ids.front());
  if (!revoked) return call.store_failed(revoked.error());
  call.parts.callers->forget();
  return {204, "", "", {}};
}

}  // namespace hakea::service
