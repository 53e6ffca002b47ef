// /session: a page signs in with a token, asks who it is, and signs out.
#include <fmt/format.h>

#include "service/access/page_session.h"
#include "service/access/tokens.h"
#include "service/http/accept.h"
#include "service/http/caller.h"
#include "service/http/handlers.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

// The prefix __Host- holds a browser to Secure, this path and this host alone.
std::string cookie(std::string_view value, std::chrono::seconds lives) {
  return fmt::format("{}={}; Path=/; Secure; HttpOnly; SameSite=Lax; Max-Age={}", kSessionCookie, value, lives.count());
}

std::string who_json(const Actor& actor, const std::optional<PageSession>& session) {
  JsonWriter out;
  out.begin_object().text("actor", actor.name).text("role", word(actor.role)).key("scopes").begin_list();
  for (const std::string_view each : scope_words())
    if (actor.may(*scope_of(each))) out.text(each);
  out.end_list().texts("districts", actor.districts).texts("units", actor.units).key("session");
  if (session)
    out.begin_object()
        .text("began_at", utc_text(session->began_at))
        .text("ends_at", utc_text(session->began_at + kSessionLivesAtMost))
        .whole("idle_s_at_most", std::chrono::seconds(kSessionIdleAtMost).count())
        .end_object();
  else
    out.null();
  return out.end_object().str();
}

}  // namespace

Response open_page_session(const Call& call) {
  // Another site's page can send neither this type nor our origin: nobody is signed in as somebody else unawares.
  if (type_alone(call.request.header("content-type")) != "application/json")
    return call.refuse({415, "media_type", "The body is of a type that is not read", "send application/json", {}});
  if (!call.request.header("origin").empty() && !is_from_our_page(call.request, call.parts.config->access.origin))
    return call.refuse(
        {403, "foreign_page", "This does not come from a page of ours", "sign in from a page of this service", {}});
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  Errors mistakes;
  JsonObject object(*body, "", mistakes);
  object.require("token", "write the token that was shown when it was made");
  const auto token = object.text("token");
  object.refuse_unknown_members();
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  auto actor = actor_of(*call.parts.store, *token, call.now);
  if (!actor && actor.error().kind == ErrorKind::failed) return call.store_failed(actor.error());
  if (!actor) {
    if (actor.error().code == "unknown_token" && !call.parts.failed_callers->add(call.request.address, call.now))
      return too_many_failures(call.request);
    return unauthorized(call.request, actor.error().code, actor.error().what, ", error=\"invalid_token\"");
  }
  actor->address = call.request.address;
  actor->request_id = call.request.request_id;
  const auto made = open_session(*call.parts.store, *actor, call.now);
  if (!made) return call.store_failed(made.error());
  Response answer = call.json(who_json(*actor, made->row), 201);
  answer.headers.emplace_back("Set-Cookie", cookie(made->cookie, kSessionLivesAtMost));
  return answer;
}

Response show_page_session(const Call& call) {
  std::optional<PageSession> session;
  if (call.actor.session) {
    const auto found = call.parts.store->session(*call.actor.session);
    if (!found) return call.store_failed(found.error());
    session = *found;
  }
  Response answer = call.json(who_json(call.actor, session));
  answer.headers.emplace_back("Cache-Control", "no-store");
  return answer;
}

Response end_page_session(const Call& call) {
  if (!call.actor.session) return call.refuse({404, "no_session", "There is no such thing", "this call comes by no session", {}});
  if (const auto ended = call.parts.store->end_session(call.actor, call.now, *call.actor.session); !ended)
    return call.store_failed(ended.error());
  call.parts.callers->forget();
  Response answer{204, "", "", {}};
  answer.headers.emplace_back("Set-Cookie", cookie("", std::chrono::seconds(0)));
  return answer;
}

}  // namespace hakea::service
