#include "service/store/sessions.h"

#include "service/store/entries.h"

namespace hakea::service {

void add_session(Transaction& transaction, const Actor& actor, const PageSession& session, UtcTime oldest) {
  transaction.run("DELETE FROM session WHERE began_at < ?", {oldest});
  transaction.run("INSERT INTO session (id_hash, token_id, began_at, seen_at) VALUES (?, ?, ?, ?)",
                  {session.id_hash, session.token_id, session.began_at, session.seen_at});
  const std::string object = "token/" + session.token_id;
  add_audit(transaction, actor, session.began_at, {.action = "open_session", .object = object});
}

Result<std::optional<PageSession>> session(Database& state, std::string_view id_hash) {
  return state.first("SELECT id_hash, token_id, began_at, seen_at FROM session WHERE id_hash = ?", {id_hash}, [](const Row& row) {
    return PageSession{row.text(0), row.text(1), row.instant(2), row.instant(3)};
  });
}

void end_session(Transaction& transaction, const Actor& actor, UtcTime now, std::string_view id_hash) {
  transaction.run("DELETE FROM session WHERE id_hash = ?", {id_hash});
  if (transaction.rows_changed() == 0) return;
  const std::string object = "token/" + actor.token_id;
  add_audit(transaction, actor, now, {.action = "end_session", .object = object});
}

}  // namespace hakea::service
