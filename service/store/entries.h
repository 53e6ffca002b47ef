// The part of state.db that people fill: entries with their revisions, the audit, tokens. What each function does stands in
// store.h; those with a Transaction leave their failure in it.
#pragma once

#include "service/store/sqlite.h"
#include "service/store/store.h"

namespace hakea::service {

std::vector<Entry> write_entries(Transaction& transaction, const Actor& actor, UtcTime now, std::span<const Change> changes);
Result<std::vector<Entry>> entries(Database& state, EntryKind kind, bool also_withdrawn);
Result<std::optional<Entry>> entry(Database& state, EntryKind kind, std::string_view id);
Result<std::optional<Entry>> revision(Database& state, EntryKind kind, std::string_view id, int revision);

struct AuditNote {
  std::string_view action{}, object{}, reason{};
  std::string_view before{}, after{};  // bodies
};
void add_audit(Transaction& transaction, const Actor& actor, UtcTime now, const AuditNote& note);
Result<std::vector<AuditRow>> audit(Database& state, std::int64_t before_seq, int at_most);

void add_token(Transaction& transaction, const Actor& actor, UtcTime now, const Token& token);
void revoke_token(Transaction& transaction, const Actor& actor, UtcTime now, std::string_view id);
Result<std::vector<Token>> tokens(Database& state);
Result<std::optional<Token>> token(Database& state, std::string_view id);

}  // namespace hakea::service
