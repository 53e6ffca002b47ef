// Migrations, backups, restoring, and who may have a folder.
#include <gtest/gtest.h>

#include <array>

#include "service/store/backup.h"
#include "service/store/store.h"
#include "tests/support/temp_dir.h"

namespace hakea::service {
namespace {

namespace fs = std::filesystem;

constexpr UtcTime kNow{std::chrono::seconds(1'806'300'000)};
constexpr const char* kStamp = "20270329T060000Z";

std::string code_of(const Result<bool>& result) { return result ? "" : result.error().code; }

// --- migrations, by a made-up list ---

constexpr std::array<std::string_view, 3> kMadeUp = {
    "CREATE TABLE a (x INTEGER); INSERT INTO a VALUES (1);",
    "ALTER TABLE a ADD COLUMN y INTEGER NOT NULL DEFAULT 2;",
    "CREATE TABLE b AS SELECT x + y AS z FROM a; DROP TABLE a;",
};
constexpr std::array<std::string_view, 3> kBroken = {kMadeUp[0], kMadeUp[1], "DROP TABLE a; CREATE TABLE wrong ("};

class Migration : public ::testing::Test {
 protected:
  Database open() { return *Database::open(folder_.path() / "made_up.db", Database::Use::write); }
  std::string migrate_to(Migrations list) {
    Database database = open();
    return code_of(migrate(database, list, [&](int version) -> Result<bool> {
      backed_up.push_back(version);
      return true;
    }));
  }
  std::int64_t number(std::string_view sql) {
    Database database = open();
    return *database.number(sql);
  }

  test::TempDir folder_;
  std::vector<int> backed_up;
};

TEST_F(Migration, LeadsFromEveryEarlierVersionToTheNewest) {
  for (std::size_t version = 0; version <= kMadeUp.size(); ++version) {
    fs::remove(folder_.path() / "made_up.db");
    backed_up.clear();
    EXPECT_EQ(migrate_to(Migrations(kMadeUp).first(version)), "");
    EXPECT_TRUE(backed_up.empty()) << "a new file needs no backup";
    EXPECT_EQ(migrate_to(kMadeUp), "");
    EXPECT_EQ(number("SELECT z FROM b"), 3) << "from version " << version;
    EXPECT_EQ(number("PRAGMA user_version"), 3);
    const bool is_changed = version > 0 && version < kMadeUp.size();
    EXPECT_EQ(backed_up, is_changed ? std::vector<int>{static_cast<int>(version)} : std::vector<int>{});
  }
}

TEST_F(Migration, ThatFailsLeavesTheVersionBeforeItWhole) {
  EXPECT_EQ(migrate_to(Migrations(kMadeUp).first(1)), "");
  EXPECT_EQ(migrate_to(kBroken), "store_failed");
  EXPECT_EQ(number("PRAGMA user_version"), 2) << "the second was done, the third not";
  EXPECT_EQ(number("SELECT x + y FROM a"), 3);
  EXPECT_EQ(migrate_to(kMadeUp), "");
}

TEST_F(Migration, ChangesNothingWhenTheBackupFails) {
  EXPECT_EQ(migrate_to(Migrations(kMadeUp).first(1)), "");
  Database database = open();
  const auto refuse = [](int) -> Result<bool> { return Error{ErrorKind::failed, "disk_full", "", "", ""}; };
  EXPECT_EQ(code_of(migrate(database, kMadeUp, refuse)), "disk_full");
  EXPECT_EQ(*database.number("PRAGMA user_version"), 1);
}

TEST_F(Migration, RefusesANewerDatabaseAndAForeignOne) {
  EXPECT_EQ(migrate_to(kMadeUp), "");
  EXPECT_EQ(migrate_to(Migrations(kMadeUp).first(2)), "newer_database");
  EXPECT_EQ(number("SELECT z FROM b"), 3);
  Database foreign = *Database::open(folder_.path() / "foreign.db", Database::Use::write);
  ASSERT_TRUE(foreign.run_script("CREATE TABLE theirs (x)"));
  const auto never = [](int) { return Result<bool>(true); };
  EXPECT_EQ(code_of(migrate(foreign, kMadeUp, never)), "damaged_database");
  ASSERT_TRUE(foreign.run_script("PRAGMA user_version = 2"));
  EXPECT_EQ(code_of(migrate(foreign, kMadeUp, never)), "damaged_database");
}

// --- the store's own files ---

class Backup : public ::testing::Test {
 protected:
  std::string folder() const { return folder_.path() / "data"; }
  std::string copy() const { return folder_.path() / "copy.db"; }
  std::unique_ptr<Store> open() {
    auto store = Store::open(folder(), kNow);
    EXPECT_TRUE(store) << store.error().what;
    return store ? *std::move(store) : nullptr;
  }
  void set(const std::string& value) { EXPECT_TRUE(open()->set_note("value", value)); }
  std::string value() { return open()->note("value")->value_or("none"); }
  void damage(const std::string& path) {  // all but the first page
    std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(4096);
    file << std::string(fs::file_size(path) - 4096, 'x');
  }

  test::TempDir folder_;
};

TEST_F(Backup, IsMadeWhileTheStoreIsWrittenAndPutsBackWhatWasThere) {
  {
    const auto store = open();
    ASSERT_TRUE(store->set_note("value", "then"));
    EXPECT_EQ(code_of(store->backup(copy())), "");
    ASSERT_TRUE(store->set_note("value", "later"));
    EXPECT_EQ(code_of(store->backup(copy())), "exists");
    EXPECT_EQ(code_of(back_up(folder(), copy() + ".2")), "") << "also by another process beside it";
  }
  EXPECT_EQ(value(), "later");
  EXPECT_EQ(code_of(restore_backup(copy(), folder(), kNow)), "");
  EXPECT_EQ(value(), "then");
  EXPECT_EQ(code_of(restore_backup(folder() + "/state.db.before-restore-" + kStamp, folder(), kNow + std::chrono::seconds(1))),
            "")
      << "what stood there is kept and can be put back";
  EXPECT_EQ(value(), "later");
}

TEST_F(Backup, IsRestoredIntoAnEmptyPlace) {
  set("then");
  ASSERT_EQ(code_of(back_up(folder(), copy())), "");
  fs::remove_all(folder());
  EXPECT_EQ(code_of(restore_backup(copy(), folder(), kNow)), "");
  EXPECT_EQ(value(), "then");
}

TEST_F(Backup, IsNotRestoredBesideARunningStore) {
  set("then");
  ASSERT_EQ(code_of(back_up(folder(), copy())), "");
  const auto store = open();
  const auto refused = restore_backup(copy(), folder(), kNow);
  EXPECT_EQ(code_of(refused), "in_use");
  EXPECT_NE(refused.error().what.find("process " + std::to_string(getpid())), std::string::npos) << refused.error().what;
  EXPECT_EQ(store->note("value")->value_or(""), "then");
}

TEST_F(Backup, IsRefusedWhenDamagedAndNothingIsTouched) {
  set("kept");
  ASSERT_EQ(code_of(back_up(folder(), copy())), "");
  damage(copy());
  EXPECT_EQ(code_of(restore_backup(copy(), folder(), kNow)), "damaged_database");
  EXPECT_EQ(code_of(restore_backup(folder_.write("text.db", "no database"), folder(), kNow)), "damaged_database");
  EXPECT_EQ(code_of(restore_backup(folder_.write("empty.db", ""), folder(), kNow)), "damaged_database");
  EXPECT_EQ(code_of(restore_backup(folder_.path() / "none.db", folder(), kNow)), "not_found");
  EXPECT_EQ(value(), "kept");
}

TEST_F(Backup, OfADamagedDatabaseIsNotMade) {
  set("x");
  damage(folder() + "/state.db");
  EXPECT_EQ(code_of(back_up(folder(), copy())), "damaged_database");
  EXPECT_FALSE(fs::exists(copy()));
  EXPECT_FALSE(fs::exists(copy() + ".part"));
  const auto opened = Store::open(folder(), kNow);
  ASSERT_FALSE(opened);
  EXPECT_EQ(opened.error().code, "damaged_database");
  EXPECT_EQ(code_of(back_up(folder_.path() / "nowhere", copy())), "not_found");
}

TEST_F(Backup, ReplacesADamagedDatabaseAndKeepsIt) {
  set("then");
  ASSERT_EQ(code_of(back_up(folder(), copy())), "");
  damage(folder() + "/state.db");
  EXPECT_EQ(code_of(restore_backup(copy(), folder(), kNow)), "");
  EXPECT_EQ(value(), "then");
  EXPECT_TRUE(fs::exists(folder() + "/state.db.before-restore-" + kStamp));
}

TEST_F(Backup, OfANewerProgramIsRefusedAndSoIsItsFolder) {
  set("x");
  {
    Database state = *Database::open(folder() + "/state.db", Database::Use::write);
    ASSERT_TRUE(state.run_script("PRAGMA user_version = 99"));
  }
  const auto opened = Store::open(folder(), kNow);
  ASSERT_FALSE(opened);
  EXPECT_EQ(opened.error().code, "newer_database");
  fs::copy_file(folder() + "/state.db", copy());
  EXPECT_EQ(code_of(restore_backup(copy(), folder_.path() / "other", kNow)), "newer_database");
}

TEST_F(Backup, FolderIsHeldByOneStoreAtATime) {
  auto first = open();
  const auto second = Store::open(folder(), kNow);
  ASSERT_FALSE(second);
  EXPECT_EQ(second.error().code, "in_use");
  EXPECT_EQ(second.error().where, folder());
  first.reset();
  EXPECT_TRUE(Store::open(folder(), kNow));
}

}  // namespace
}  // namespace hakea::service
