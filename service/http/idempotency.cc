#include "service/http/idempotency.h"

#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include "service/base/content_hash.h"
#include "service/http/entries.h"

namespace hakea::service {
namespace {

constexpr std::size_t kLongestKey = 255;

// The key in a header: a string of RFC 8941 §3.3.3, in quotes. Nothing when it is none, is empty or too long.
std::optional<std::string> key_in(std::string_view header) {
  if (header.size() < 2 || !header.starts_with('"')) return std::nullopt;
  std::string key;
  for (std::size_t i = 1; i < header.size(); ++i) {
    char c = header[i];
    if (c == '"') {
      const bool is_all = i + 1 == header.size();  // no parameters: the draft defines none
      return is_all && !key.empty() && key.size() <= kLongestKey ? std::optional(key) : std::nullopt;
    }
    if (c == '\\') {
      if (++i == header.size() || (header[i] != '"' && header[i] != '\\')) return std::nullopt;
      c = header[i];
    }
    if (c < 0x20 || c > 0x7e) return std::nullopt;
    key += c;
  }
  return std::nullopt;
}

std::string hash_of(const Request& request) {
  std::string text = request.method + '\n' + request.path + '\n';
  for (const auto& [name, value] : request.query) text += fmt::format("{}={}\n", name, value);
  return content_hash(text + '\n' + request.body);
}

// What was written, for a caller whose first answer was lost when the service ended.
Response answer_from_store(const Call& call, const KeyedDeed& deed) {
  const std::string kind = deed.objects.front().substr(0, deed.objects.front().find('/'));
  const std::string collection = kind + "s";
  // What is taken back has no answer but that it is; a stop is lifted with words.
  if (call.request.method == "DELETE" && kind != word(EntryKind::stop)) return {204, "", "", {}};
  const auto of_entries = entry_kind_of(kind);
  std::vector<Entry> entries;
  for (const std::string& object : deed.objects) {
    if (!of_entries || !object.starts_with(kind + "/")) continue;
    const auto entry = call.parts.store->entry(*of_entries, object.substr(kind.size() + 1));
    if (!entry) return call.store_failed(entry.error());
    if (*entry) entries.push_back(**entry);
  }
  const int status = call.request.method == "POST" ? 201 : 200;
  const auto body = call.body();
  if (entries.size() == 1 && !(body && body->is_array())) return entry_response(call, entries.front(), status, collection);
  std::string list;
  for (const Entry& entry : entries) (list += list.empty() ? "" : ",") += entry_json(entry);
  return call.json(fmt::format(R"({{"{}":[{}]}})", collection, list), status);
}

Response first_answer(const Call& call, const KeyedDeed& deed) {
  if (!deed.answer) return answer_from_store(call, deed);
  return {deed.answer->status, deed.answer->content_type, deed.answer->body, deed.answer->headers};
}

}  // namespace

Response answer_once(Call& call, bool needs_key, Response (*answer)(const Call&)) {
  const std::string_view header = call.request.header("idempotency-key");
  if (header.empty() && needs_key && call.is_by_token())
    return call.refuse({400,
                        "idempotency_key_required",
                        "Give this request a key",
                        R"(send a new Idempotency-Key with every new request, such as Idempotency-Key: "8e03978e-40d5-43dd")",
                        {}});
  if (header.empty()) return answer(call);
  const auto key = key_in(header);
  if (!key)
    return call.refuse(
        {400,
         "idempotency_key",
         "The key of this request is wrong",
         fmt::format(R"(write Idempotency-Key as 1 to {} printable ASCII characters in quotes: "8e03978e-40d5")", kLongestKey),
         {}});
  const KeyedRequest request{call.actor.token_id.empty() ? "~" + call.actor.name : call.actor.token_id, *key,
                             hash_of(call.request)};
  auto& running = *call.parts.running;
  if (!running.begin(request))
    return call.refuse({409,
                        "still_running",
                        "This request is still being carried out",
                        "wait a moment, then send it again to have its answer",
                        {}});
  struct End {
    RunningRequests& running;
    const KeyedRequest& request;
    ~End() { running.end(request); }
  } const end{running, request};

  const auto known = call.parts.store->deed(request.caller, request.key, call.now);
  if (!known) return call.store_failed(known.error());
  if (*known && (*known)->hash != request.hash)
    return call.refuse({422,
                        "idempotency_key_reused",
                        "This key is that of another request",
                        "give a new request a new Idempotency-Key; the same key only repeats the same request",
                        {}});
  if (*known) return first_answer(call, **known);
  call.keyed = &request;
  Response given = answer(call);
  // One that says "stored, but not judged yet" is not to be said again when it has been judged.
  if (given.status < 300) {
    const auto kept = call.parts.store->keep_answer(request, {given.status, given.content_type, given.bytes(), given.headers});
    // That it was carried out is known all the same.
    if (!kept) spdlog::warn("the answer to {} could not be kept: {}", call.request.request_id, kept.error().what);
  }
  return given;
}

}  // namespace hakea::service
