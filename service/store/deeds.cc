#include "service/store/deeds.h"

#include <fmt/format.h>

#include "core/base/words.h"

namespace hakea::service {
namespace {

constexpr std::chrono::hours kKnown{24};

std::vector<std::pair<std::string, std::string>> headers_in(std::string_view text) {
  std::vector<std::pair<std::string, std::string>> headers;
  for (const std::string_view line : words(text, '\n')) {
    const std::size_t colon = line.find(':');
    headers.emplace_back(line.substr(0, colon), line.substr(colon + 1));
  }
  return headers;
}

KeyedDeed deed_in(const Row& row) {
  KeyedDeed deed;
  deed.hash = row.text(0);
  deed.objects = row.lines(1);
  if (!row.is_null(2))
    deed.answer = KeyedDeed::Answer{static_cast<int>(row.number(2)), row.text(3), row.text(5), headers_in(row.text(4))};
  return deed;
}

}  // namespace

void add_deed(Transaction& transaction, const KeyedRequest& request, UtcTime now, std::span<const Entry> written) {
  transaction.run("DELETE FROM keyed_deed WHERE done_at <= ?", {now - kKnown});
  if (transaction.number("SELECT count(*) FROM keyed_deed WHERE caller = ? AND key = ?", {request.caller, request.key}) > 0)
    transaction.fail({ErrorKind::invalid, "carried_out", request.key, "a request with this key was carried out already",
                      "send it again to have its answer"});
  std::string objects;
  for (const Entry& entry : written) objects += fmt::format("{}/{}\n", word(entry.kind), entry.id);
  transaction.run("INSERT INTO keyed_deed (caller, key, hash, done_at, objects) VALUES (?, ?, ?, ?, ?)",
                  {request.caller, request.key, request.hash, now, objects});
}

void keep_answer(Transaction& transaction, const KeyedRequest& request, const KeyedDeed::Answer& answer) {
  std::string headers;
  for (const auto& [name, value] : answer.headers) headers += fmt::format("{}:{}\n", name, value);
  transaction.run("UPDATE keyed_deed SET status = ?, content_type = ?, headers = ?, body = ? WHERE caller = ? AND key = ?",
                  {answer.status, answer.content_type, headers, answer.body, request.caller, request.key});
}

Result<std::optional<KeyedDeed>> deed(Database& state, std::string_view caller, std::string_view key, UtcTime now) {
  return state.first(
      "SELECT hash, objects, status, content_type, headers, body FROM keyed_deed WHERE caller = ? AND key = ? AND done_at > ?",
      {caller, key, now - kKnown}, deed_in);
}

}  // namespace hakea::service
