// The page sessions in state.db. What each function does stands in store.h; those with a Transaction leave their failure in it.
#pragma once

#include "service/store/sqlite.h"
#include "service/store/store.h"

namespace hakea::service {

void add_session(Transaction& transaction, const Actor& actor, const PageSession& session, UtcTime oldest);
Result<std::optional<PageSession>> session(Database& state, std::string_view id_hash);
void end_session(Transaction& transaction, const Actor& actor, UtcTime now, std::string_view id_hash);

}  // namespace hakea::service
