#include "service/store/entries.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>

#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::array<std::string_view, 8> kKindWords{"district", "unit",        "prescription", "booking",
                                                     "stop",     "observation", "outcome",      "subscription"};

// Before the number in an id that the store gives, and the digits it has at least.
struct Numbering {
  std::string_view prefix;
  int digits;
};

std::optional<Numbering> numbering(EntryKind kind) {
  switch (kind) {
    case EntryKind::booking: return Numbering{"b-", 4};
    case EntryKind::stop: return Numbering{"s-", 4};
    case EntryKind::observation: return Numbering{"", 1};
    case EntryKind::outcome: return Numbering{"o-", 4};
    case EntryKind::subscription: return Numbering{"n-", 4};
    default: return std::nullopt;
  }
}

std::string next_id(Transaction& transaction, EntryKind kind) {
  const auto numbered = numbering(kind);
  HAKEA_EXPECT(numbered.has_value());
  const auto last = transaction.number("SELECT coalesce(max(number), 0) FROM entry WHERE kind = ?", {word(kind)});
  return fmt::format("{}{:0{}}", numbered->prefix, last + 1, numbered->digits);
}

constexpr const char* kEntryColumns = "r.id, r.revision, r.body, r.written_at, r.written_by, r.is_withdrawn";

auto entry_reader(EntryKind kind) {
  return [kind](const Row& row) {
    return Entry{kind,        row.text(0),       static_cast<int>(row.number(1)), row.text(2), row.instant(3),
                 row.text(4), row.number(5) != 0};
  };
}

const std::string kNewest = fmt::format(
    "SELECT {} FROM entry e JOIN entry_revision r ON r.kind = e.kind AND r.id = e.id AND r.revision = e.revision WHERE e.kind = "
    "?",
    kEntryColumns);
const std::string kNewestOfId = kNewest + " AND e.id = ?";
const std::string kNewestOfKind = kNewest + " AND e.is_withdrawn <= ? ORDER BY e.number, e.id";
const std::string kRevision =
    fmt::format("SELECT {} FROM entry_revision r WHERE r.kind = ? AND r.id = ? AND r.revision = ?", kEntryColumns);

std::string object_of(EntryKind kind, std::string_view id) { return fmt::format("{}/{}", word(kind), id); }

std::optional<Error> unexpected(const Change& change, const std::optional<Entry>& standing) {
  const std::string object = object_of(change.kind, change.id);
  const int revision = standing ? standing->revision : 0;
  if (change.expected_revision && *change.expected_revision != revision) {
    const std::string found = !standing                   ? "does not exist"
                              : standing->is_withdrawn    ? fmt::format("was withdrawn in revision {}", revision)
                              : *change.expected_revision ? fmt::format("now has revision {}", revision)
                                                          : fmt::format("exists already, in revision {}", revision);
    const std::string meant = *change.expected_revision
                                  ? fmt::format("the change was made to revision {}", *change.expected_revision)
                                  : "the change was to make it";
    return Error{ErrorKind::invalid, "changed_meanwhile", object, fmt::format("{} {}; {}", object, found, meant),
                 "read it again and make the change there"};
  }
  if (!change.body && (!standing || standing->is_withdrawn))
    return Error{ErrorKind::not_found, "not_found", object,
                 fmt::format("{} {}", object, standing ? "was withdrawn already" : "does not exist"), "name one that stands"};
  return std::nullopt;
}

std::string lines_of(const std::vector<std::string>& words) {
  std::string lines;
  for (const std::string& word : words) lines += word + '\n';
  return lines;
}

std::vector<std::string> words_of(const Scopes& scopes) {
  std::vector<std::string> words;
  for (const Scope scope : scopes) words.emplace_back(word(scope));
  return words;
}

std::string token_json(const Token& token) {
  JsonWriter json;
  json.begin_object().text("id", token.id).text("name", token.name).text("role", word(token.role));
  if (token.scopes) json.texts("scopes", words_of(*token.scopes));
  json.texts("districts", token.districts).texts("units", token.units);
  json.text("expires_at", utc_text(token.expires_at));
  if (token.revoked_at) json.text("revoked_at", utc_text(*token.revoked_at));
  return json.end_object().str();
}

constexpr std::string_view kTokens =
    "SELECT id, name, secret_hash, role, districts, created_at, expires_at, last_used_at, revoked_at, scopes, units FROM token ";

Token token_in(const Row& row) {
  Token token;
  token.id = row.text(0);
  token.name = row.text(1);
  token.secret_hash = row.text(2);
  const auto role = role_of(row.text(3));
  token.role = role.value_or(Role::viewer);  // an unknown word may do least
  token.districts = row.lines(4);
  token.created_at = row.instant(5);
  token.expires_at = row.instant(6);
  token.last_used_at = row.maybe_instant(7);
  token.revoked_at = row.maybe_instant(8);
  if (!row.is_null(9)) {
    token.scopes.emplace();  // an unknown word stands for nothing
    for (const std::string& each : row.lines(9))
      if (const auto scope = scope_of(each)) token.scopes->insert(*scope);
  }
  token.units = row.lines(10);
  return token;
}

const std::string kTokenOfId = std::string(kTokens) + "WHERE id = ?";
const std::string kAllTokens = std::string(kTokens) + "ORDER BY created_at, id";

}  // namespace

std::int64_t number_in(EntryKind kind, std::string_view id) {
  const auto numbered = numbering(kind);
  if (!numbered || !id.starts_with(numbered->prefix)) return 0;
  id.remove_prefix(numbered->prefix.size());
  std::int64_t number = 0;
  const auto [end, error] = std::from_chars(id.data(), id.data() + id.size(), number);
  constexpr std::int64_t kHighest = 999'999'999'999;  // leaves room for more
  return error == std::errc() && end == id.data() + id.size() && number <= kHighest && number > 0 ? number : 0;
}

std::string_view word(EntryKind kind) { return kKindWords.at(static_cast<std::size_t>(kind)); }

std::optional<EntryKind> entry_kind_of(std::string_view word) {
  const auto found = std::find(kKindWords.begin(), kKindWords.end(), word);
  if (found == kKindWords.end()) return std::nullopt;
  return static_cast<EntryKind>(found - kKindWords.begin());
}

std::vector<Entry> write_entries(Transaction& transaction, const Actor& actor, UtcTime now, std::span<const Change> changes) {
  std::vector<Entry> written;
  for (Change change : changes) {
    if (change.id.empty()) change.id = next_id(transaction, change.kind);
    const auto standing = transaction.first(kNewestOfId, {word(change.kind), change.id}, entry_reader(change.kind));
    if (transaction.has_failed()) return {};
    if (auto error = unexpected(change, standing)) {
      transaction.fail(*std::move(error));
      return {};
    }
    Entry next{
        change.kind, change.id,   (standing ? standing->revision : 0) + 1, change.body ? *change.body : standing->body, now,
        actor.name,  !change.body};
    transaction.run(
        "INSERT INTO entry (kind, id, number, revision, is_withdrawn) VALUES (?, ?, ?, ?, ?)"
        " ON CONFLICT (kind, id) DO UPDATE SET revision = excluded.revision, is_withdrawn = excluded.is_withdrawn",
        {word(next.kind), next.id, number_in(next.kind, next.id), next.revision, next.is_withdrawn});
    transaction.run(
        "INSERT INTO entry_revision (kind, id, revision, body, written_at, written_by, is_withdrawn) VALUES (?, ?, ?, ?, ?, ?, "
        "?)",
        {word(next.kind), next.id, next.revision, next.body, next.at, next.by, next.is_withdrawn});
    const std::string_view before = standing && !standing->is_withdrawn ? std::string_view(standing->body) : "";
    const std::string_view after = next.is_withdrawn ? "" : std::string_view(next.body);
    const std::string object = object_of(next.kind, next.id);
    add_audit(transaction, actor, now,
              {.action = change.action, .object = object, .reason = change.reason, .before = before, .after = after});
    written.push_back(std::move(next));
  }
  return written;
}

Result<std::vector<Entry>> entries(Database& state, EntryKind kind, bool also_withdrawn) {
  return state.rows(kNewestOfKind, {word(kind), also_withdrawn}, entry_reader(kind));
}

Result<std::optional<Entry>> entry(Database& state, EntryKind kind, std::string_view id) {
  return state.first(kNewestOfId, {word(kind), id}, entry_reader(kind));
}

Result<std::optional<Entry>> revision(Database& state, EntryKind kind, std::string_view id, int revision) {
  return state.first(kRevision, {word(kind), id, revision}, entry_reader(kind));
}

void add_audit(Transaction& transaction, const Actor& actor, UtcTime now, const AuditNote& note) {
  transaction.run(
      "INSERT INTO audit (done_at, actor, token_id, address, request_id, action, object, reason, body_before, body_after)"
      " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
      {now, actor.name, actor.token_id, actor.address, actor.request_id, note.action, note.object, note.reason, note.before,
       note.after});
}

Result<std::vector<AuditRow>> audit(Database& state, std::int64_t before_seq, int at_most) {
  return state.rows(
      "SELECT seq, done_at, actor, token_id, address, request_id, action, object, reason, body_before, body_after FROM audit"
      " WHERE ?1 = 0 OR seq < ?1 ORDER BY seq DESC LIMIT max(?2, 0)",
      {before_seq, at_most}, [](const Row& row) {
        return AuditRow{row.number(0), row.instant(1), row.text(2), row.text(3), row.text(4), row.text(5),
                        row.text(6),   row.text(7),    row.text(8), row.text(9), row.text(10)};
      });
}

void add_token(Transaction& transaction, const Actor& actor, UtcTime now, const Token& token) {
  if (transaction.number("SELECT count(*) FROM token WHERE id = ?", {token.id}) > 0)
    transaction.fail({ErrorKind::invalid, "exists", "token/" + token.id, "a token with this id exists already", "make another"});
  const std::string districts = lines_of(token.districts), units = lines_of(token.units);
  const auto scopes = token.scopes ? std::optional(lines_of(words_of(*token.scopes))) : std::nullopt;
  transaction.run(
      "INSERT INTO token (id, name, secret_hash, role, districts, created_at, expires_at, last_used_at, revoked_at, scopes, "
      "units)"
      " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
      {token.id, token.name, token.secret_hash, word(token.role), districts, token.created_at, token.expires_at,
       token.last_used_at, token.revoked_at, scopes, units});
  const std::string object = "token/" + token.id, after = token_json(token);
  add_audit(transaction, actor, now, {.action = "create_token", .object = object, .after = after});
}

void revoke_token(Transaction& transaction, const Actor& actor, UtcTime now, std::string_view id) {
  const auto standing = transaction.first(kTokenOfId, {id}, token_in);
  const std::string object = fmt::format("token/{}", id);
  if (!transaction.has_failed() && (!standing || standing->revoked_at))
    transaction.fail({ErrorKind::not_found, "not_found", object,
                      standing ? "this token was revoked already" : "there is no token with this id",
                      "name one of the tokens listed"});
  if (transaction.has_failed()) return;
  Token revoked = *standing;
  revoked.revoked_at = now;
  transaction.run("UPDATE token SET revoked_at = ? WHERE id = ?", {now, id});
  const std::string before = token_json(*standing), after = token_json(revoked);
  add_audit(transaction, actor, now, {.action = "revoke_token", .object = object, .before = before, .after = after});
}

Result<std::vector<Token>> tokens(Database& state) { return state.rows(kAllTokens, {}, token_in); }

Result<std::optional<Token>> token(Database& state, std::string_view id) { return state.first(kTokenOfId, {id}, token_in); }

}  // namespace hakea::service
