#include "service/http/problem_pages.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/http/accept.h"
#include "service/http/problem.h"

namespace hakea::service {
namespace {

constexpr std::string_view kSendTheBodyAgain = "Change nothing; send the request again after the time in Retry-After.";
constexpr std::string_view kAskTheOperator =
    "Tell whoever runs the service, with the request_id of the answer; /api/v1/status says what troubles it.";
constexpr std::string_view kAskTheProvider = "Ask whoever keeps the identity provider; the detail names the claim.";

constexpr std::array kKinds{
    ProblemKind{"bad_request", 400, "What was sent is no request of HTTP/1.1.",
                "Look at what stands between you and the service."},
    ProblemKind{
        "bad_target", 400,
        "The path or the query of the request is broken: an escape such as %zz, a control character, or what is no UTF-8.",
        "Write special characters as %20 and so on."},
    ProblemKind{"being_sent", 409, "The message is being sent at this moment.",
                "Wait until the attempt has ended, and ask again."},
    ProblemKind{"body_too_large", 413, "The body is larger than the service takes.",
                "Send less at once; the limit stands in the answer, and in the configuration as service.limits.body_bytes."},
    ProblemKind{"busy", 503, "So much is being sent to the service that there is no room for another large body.",
                kSendTheBodyAgain},
    ProblemKind{"changed_meanwhile", 412,
                "Somebody changed the resource after you read it, so your change was not made: it might have undone theirs.",
                "Read it again, make your change to what stands there now, and send its new ETag as If-Match."},
    ProblemKind{"damaged_database", 503, "The service's database is damaged. Nothing was stored.",
                "The operator restores the newest backup: hakea restore."},
    ProblemKind{"disk_full", 503, "The disk of the service is full. Nothing was stored.", "The operator frees space on it."},
    ProblemKind{"exists", 409, "There is something of that id already, perhaps retired.",
                "Choose another id, or send a PUT to change what is there."},
    ProblemKind{"expired_token", 401, "The token's time is over.", "Ask the operator for a new one: hakea token create."},
    ProblemKind{"files_gone", 404, "The files of the run are no longer where they were, so it can be asked at no new point.",
                "Ask a newer run, or the hours of a unit, which are kept."},
    ProblemKind{"foreign_page", 403,
                "A write came by the cookie of a session, and not from a page of this service: another site may have sent it.",
                "Call with a token, or from a page of this service with Content-Type: application/json. The operator looks "
                "whether auth.origin in the configuration is what browsers show."},
    ProblemKind{"header_too_large", 431, "Request line and header fields are larger together than the service takes.",
                "Send fewer or shorter ones; a long list of units or quantities can be asked for in parts."},
    ProblemKind{"idempotency_key", 400, "The Idempotency-Key is not written as the draft standard has it.",
                "Write a string in double quotes, such as Idempotency-Key: \"8e03978e-40d5-43dd\"."},
    ProblemKind{"idempotency_key_required", 400,
                "What was observed must not be stored twice because an answer was lost on the way, so such requests need a key.",
                "Send a new Idempotency-Key with every new request, and the same one when you send a request again."},
    ProblemKind{"idempotency_key_reused", 422, "This key came with another request within the last day.",
                "Make a new key for every new request. A key belongs to a method, a path and a body."},
    ProblemKind{"if_match_required", 428, "A change must say what it replaces, so that nobody's change is undone unseen.",
                "Read the resource and send its ETag as If-Match."},
    ProblemKind{"in_doubt", 503, "The disk failed while something was stored. Whether it is there shows at the next start.",
                "Read it again when the service has been started anew. The operator looks at the disk."},
    ProblemKind{"internal", 500, "The service made a mistake.", kAskTheOperator},
    ProblemKind{"invalid_jwt", 401, "The access token is none of the identity provider's, or is not meant for this service.",
                "The detail says what is wrong with it. Sign in again at the identity provider."},
    ProblemKind{"keys_unavailable", 503, "The keys of the identity provider cannot be read, so its tokens cannot be checked.",
                "Try again in a moment, or call with a token of this service."},
    ProblemKind{"media_type", 415, "The body is of a type that the service does not read.",
                "Send JSON as application/json, a Feature as application/geo+json, a patch as application/merge-patch+json."},
    ProblemKind{"method", 405, "The path exists and does not take that method.", "The Allow header lists those it takes."},
    ProblemKind{"no_actor", 401, "The request does not say who makes it.", "Send Authorization: Bearer and your token."},
    ProblemKind{"no_district", 403, "The identity provider knows you, and its token names no district that is yours.",
                kAskTheProvider},
    ProblemKind{"no_forecast", 404, "The forecast has no such date.", "Ask for one of the dates that the detail names."},
    ProblemKind{"no_host", 400, "The request names no host, or several.", "Send one Host header (RFC 9112)."},
    ProblemKind{"no_random", 503, "The operating system gives no random bytes, so no secret can be made.", kAskTheOperator},
    ProblemKind{"no_role", 403, "The identity provider knows you, and its token names no role here.", kAskTheProvider},
    ProblemKind{"no_secret", 409, "The subscription has no secret: only webhooks are signed.",
                "Ask for it of a subscription whose channel is a webhook."},
    ProblemKind{"no_session", 401, "There is no such session, or it has ended.", "Sign in again with a token."},
    ProblemKind{"no_unit", 403, "The identity provider knows you, and its token names no unit that is yours.", kAskTheProvider},
    ProblemKind{"not_acceptable", 406, "The answer does not come in a form that your Accept header allows.",
                "The detail of the answer lists the forms there are."},
    ProblemKind{"not_found", 404, "There is nothing of that name, or not any more.",
                "Look at the list it should be in, such as /api/v1/units."},
    ProblemKind{"not_json", 400, "The body is no JSON, or is nested too deeply.", "The detail says at which line and column."},
    ProblemKind{"other_district", 403, "The token is for other districts than that of what you asked for.",
                "Ask the operator for a token of that district."},
    ProblemKind{"other_unit", 403, "The token writes for other units than that of what you sent.",
                "Ask the operator for a token of that unit."},
    ProblemKind{"over", 409, "What the message tells is over, and a message that comes too late is worse than none.",
                "Look at the days as they are now."},
    ProblemKind{"query", 400, "A parameter of the query is unknown, given twice, or has a value that it cannot have.",
                "The errors name each, what was found, and what would do."},
    ProblemKind{"rate_limit", 429, "You make more requests than one caller may.",
                "Wait as long as Retry-After says. RateLimit-Policy and RateLimit tell how many there are and how many are left; "
                "ask for many units in one request, and with If-None-Match."},
    ProblemKind{"request_timeout", 408, "The request did not arrive whole in time.", "Send it again, on a better line."},
    ProblemKind{"retired", 404, "The unit is retired: nothing is computed for it any more.",
                "GET /api/v1/units/{id} still shows it. A PUT brings it back."},
    ProblemKind{"revoked_token", 401, "The token was revoked.", "Ask the operator for a new one."},
    ProblemKind{"role", 403, "Your role may not do this.", "Ask somebody whose role may; the detail says which that is."},
    ProblemKind{"run_unreadable", 503, "The files of the run could not be read at that point.",
                "Ask again in a moment, a newer run, or the hours of a unit, which are kept."},
    ProblemKind{"scope", 403, "The token, or your role, does not have the scope that this takes.",
                "The WWW-Authenticate header names the scope. Ask the operator for a token that has it."},
    ProblemKind{"state_conflict", 409, "A booking in this state cannot become what was asked for.",
                "The detail lists what it may become."},
    ProblemKind{"still_running", 409, "The same request is being carried out at this moment.",
                "Wait a moment, then send it again under the same key to have its answer."},
    ProblemKind{"store_failed", 503, "The service could not read or write its database. Nothing was stored.", kAskTheOperator},
    ProblemKind{
        "stored_not_judged", 500,
        "What you sent is stored, but judging the days by it failed: the days shown do not rest on it yet.",
        "Do not send it again. Do not rely on the days shown. The service tries again within the hour; tell the operator."},
    ProblemKind{"taken_back", 410,
                "The calendar's link was taken back, or the token by which it was made has expired or was revoked.",
                "Remove it from your calendar program. Who has a token makes another with POST /calendars, or in the page under "
                "Alerts."},
    ProblemKind{"too_many_connections", 503, "More connections are open than the service holds, in all or from your address.",
                "Close some, or come back after the time in Retry-After."},
    ProblemKind{"too_many_failures", 429, "Too many tokens from your address were refused within a minute.",
                "Call with a token that is known, or wait a minute."},
    ProblemKind{"too_slow", 503, "Reading the run at that point took too long.",
                "Ask again in a moment, or the hours of a unit, which are at hand."},
    ProblemKind{"too_many_streams", 503, "More streams of events are open than the service holds.",
                "Come back after the time in Retry-After, or ask for the events as JSON now and then."},
    ProblemKind{"transfer_coding", 501, "The body is coded in a way that the service does not know.",
                "Send it plain or chunked."},
    ProblemKind{"unknown_key", 401, "The access token is signed by a key that is not among those of the identity provider.",
                "Sign in again at the identity provider."},
    ProblemKind{"unknown_token", 401, "The service does not know this token.",
                "Look whether it was copied whole; ask the operator for a new one."},
    ProblemKind{"validation", 422, "The body is JSON, and what it says does not hold together.",
                "The errors name every mistake with a pointer to its place, what was found, and what would do."},
};

std::string text_of(const ProblemKind& kind) {
  return fmt::format("{} ({})\n\nWhat it means: {}\nWhat to do: {}\n", kind.code, kind.status, kind.means, kind.what_to_do);
}

std::string html_of(const ProblemKind& kind) {
  return fmt::format(
      "<h1>{} <small>{}</small></h1>\n<p><b>What it means.</b> {}</p>\n<p><b>What to do.</b> {}</p>\n"
      "<p><a href=\"{}\">All kinds of problems</a></p>\n",
      kind.code, kind.status, kind.means, kind.what_to_do, kProblemRoot);
}

std::string list(bool is_html) {
  std::string text = is_html ? "<h1>Problems</h1>\n<ul>\n" : "";
  for (const ProblemKind& kind : kKinds)
    text += is_html ? fmt::format("<li><a href=\"{}/{}\">{}</a>: {}</li>\n", kProblemRoot, kind.code, kind.code, kind.means)
                    : text_of(kind) + '\n';
  return text + (is_html ? "</ul>\n" : "");
}

std::string page(std::string_view title, const std::string& body) {
  return fmt::format(
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>{}</title></head><body>\n{}"
      "</body></html>\n",
      title, body);
}

}  // namespace

std::span<const ProblemKind> problem_kinds() { return kKinds; }

Response problem_page(const Request& request) {
  std::string_view code = std::string_view(request.path).substr(kProblemRoot.size());
  if (code.starts_with('/')) code.remove_prefix(1);
  const auto kind = std::find_if(kKinds.begin(), kKinds.end(), [&](const ProblemKind& k) { return k.code == code; });
  if (!code.empty() && kind == kKinds.end())
    return problem_response(
        {404, "not_found", "There is no such thing", fmt::format("no kind of problem stands at {}", request.path), {}},
        request.request_id);
  const bool is_html = best_type(request.header("accept"), "text/html text/plain").value_or("text/html") == "text/html";
  Response answer{200, is_html ? "text/html; charset=utf-8" : "text/plain; charset=utf-8", {}, {}};
  if (code.empty())
    answer.body = is_html ? page("Problems", list(true)) : list(false);
  else
    answer.body = is_html ? page(kind->code, html_of(*kind)) : text_of(*kind);
  answer.headers.emplace_back("Cache-Control", "public, max-age=86400");
  return answer;
}

}  // namespace hakea::service
