// What the two databases hold, as numbered migrations. Version n is what the first n make of an empty file; it stands in
// PRAGMA user_version. A migration that was released is never changed: a new one is added below it.
#pragma once

#include <functional>
#include <span>
#include <string_view>

#include "core/base/result.h"
#include "service/store/sqlite.h"

namespace hakea::service {

using Migrations = std::span<const std::string_view>;
Migrations state_migrations();
Migrations series_migrations();

// Brings a database to the newest version, each migration in one transaction. `before` is called once, before the first
// change to a file that is in use, with its version; if it fails nothing is changed. Errors: `newer_database`,
// `damaged_database` for a file that is none of ours.
Result<bool> migrate(Database& database, Migrations migrations, const std::function<Result<bool>(int version)>& before);

// The version of one of our databases; 0 for an empty file. Errors as above.
Result<int> version_of(Database& database, Migrations migrations);

}  // namespace hakea::service
