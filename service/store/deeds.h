// The part of state.db that knows which keyed requests were carried out. What each function does stands in store.h.
#pragma once

#include "service/store/sqlite.h"
#include "service/store/store.h"

namespace hakea::service {

// Forgets those of more than a day ago as well.
void add_deed(Transaction& transaction, const KeyedRequest& request, UtcTime now, std::span<const Entry> written);
void keep_answer(Transaction& transaction, const KeyedRequest& request, const KeyedDeed::Answer& answer);
Result<std::optional<KeyedDeed>> deed(Database& state, std::string_view caller, std::string_view key, UtcTime now);

}  // namespace hakea::service
