#include "service/store/store.h"

#include <gtest/gtest.h>
#include <sqlite3.h>

#include <atomic>
#include <thread>

#include "tests/support/store_rows.h"
#include "tests/support/temp_dir.h"

namespace hakea::service {
namespace {

using std::chrono::days;
using std::chrono::hours;
using test::at_once;

constexpr UtcTime kNow{std::chrono::seconds(1'806'300'000)};

Actor coordinator() { return test::actor_named("Coordinator"); }

RunRow run_of(const std::string& id, UtcTime reference, int revision = 1) {
  return test::run_row(id, reference, revision, id + "/" + std::to_string(revision));
}

class StoreTest : public ::testing::Test {
 protected:
  StoreTest() { open(); }

  void open() {
    store_.reset();
    auto opened = Store::open(folder_.path(), kNow);
    ASSERT_TRUE(opened) << opened.error().what;
    store_ = *std::move(opened);
  }
  Result<std::vector<Entry>> write(Change change) { return store_->write(coordinator(), kNow, {&change, 1}); }
  std::string code_of(Change change) {
    const auto written = write(std::move(change));
    return written ? "" : written.error().code;
  }
  void evaluate(const RunRow& run, std::vector<SeriesBlob> blobs) {
    ASSERT_TRUE(store_->put_series(run.id, run.revision, run.content_hash, at_once(blobs)));
    ASSERT_TRUE(store_->publish({run, {}, {}}));
  }
  std::string bytes_of(std::string_view run, std::string_view unit) {
    std::string all;
    const auto blobs = store_->series(run, unit);
    EXPECT_TRUE(blobs);
    for (const SeriesBlob& blob : *blobs) all += std::to_string(blob.point) + std::to_string(blob.member) + blob.bytes + ' ';
    return all;
  }
  // Behind the store's back.
  std::string run_sql(const char* database, const char* sql) {
    sqlite3* connection = nullptr;
    sqlite3_open((folder_.path() / database).c_str(), &connection);
    char* error = nullptr;
    sqlite3_exec(connection, sql, nullptr, nullptr, &error);
    const std::string said = error ? error : "";
    sqlite3_free(error);
    sqlite3_close(connection);
    return said;
  }

  test::TempDir folder_;
  std::unique_ptr<Store> store_;
};

using Entries = StoreTest;
using Audit = StoreTest;
using Runs = StoreTest;

TEST_F(Entries, SurviveCloseAndOpenWithAllTheirRevisions) {
  ASSERT_TRUE(write({EntryKind::unit, "ridge", R"({"name":"Ridge é"})", 0, "create", ""}));
  ASSERT_TRUE(write({EntryKind::unit, "ridge", R"({"name":"Ridge 2"})", 1, "replace", "renamed"}));
  open();
  const auto now = store_->entry(EntryKind::unit, "ridge");
  ASSERT_TRUE(now && *now);
  EXPECT_EQ((*now)->revision, 2);
  EXPECT_EQ((*now)->body, R"({"name":"Ridge 2"})");
  EXPECT_EQ((*now)->at, kNow);
  EXPECT_EQ((*now)->by, "Coordinator");
  const auto first = store_->revision(EntryKind::unit, "ridge", 1);
  ASSERT_TRUE(first && *first);
  EXPECT_EQ((*first)->body, R"({"name":"Ridge é"})");
  EXPECT_FALSE(*store_->revision(EntryKind::unit, "ridge", 3));
  EXPECT_FALSE(*store_->entry(EntryKind::booking, "ridge"));
}

TEST_F(Entries, AreRefusedWhenTheyChangedMeanwhileAndTheErrorNamesTheRevision) {
  ASSERT_TRUE(write({EntryKind::unit, "ridge", "{}", 0, "create", ""}));
  EXPECT_EQ(code_of({EntryKind::unit, "ridge", "{}", 0, "create", ""}), "changed_meanwhile");
  ASSERT_TRUE(write({EntryKind::unit, "ridge", "{}", {}, "replace", ""}));
  const auto late = write({EntryKind::unit, "ridge", "{}", 1, "replace", ""});
  ASSERT_FALSE(late);
  EXPECT_EQ(late.error().code, "changed_meanwhile");
  EXPECT_EQ(late.error().what, "unit/ridge now has revision 2; the change was made to revision 1");
  EXPECT_EQ(code_of({EntryKind::unit, "hill", "{}", 1, "replace", ""}), "changed_meanwhile");
  EXPECT_EQ(store_->audit(0, 10)->size(), 2u) << "what was refused left no trace";
  EXPECT_EQ(store_->trouble(), "") << "a refusal is no trouble of the disk";
}

TEST_F(Entries, OfOneCallAreWrittenAllOrNotAtAll) {
  const std::vector<Change> changes{{EntryKind::unit, "a", "{}", 0, "create", ""},
                                    {EntryKind::unit, "b", "{}", 7, "replace", ""}};
  EXPECT_FALSE(store_->write(coordinator(), kNow, changes));
  EXPECT_TRUE(store_->entries(EntryKind::unit, true)->empty());
  EXPECT_TRUE(store_->audit(0, 10)->empty());
}

TEST_F(Entries, ThatWereWithdrawnAreListedOnlyWhenAskedFor) {
  ASSERT_TRUE(write({EntryKind::unit, "a", "first", 0, "create", ""}));
  ASSERT_TRUE(write({EntryKind::unit, "b", "second", 0, "create", ""}));
  const auto withdrawn = write({EntryKind::unit, "a", {}, 1, "retire", ""});
  ASSERT_TRUE(withdrawn);
  EXPECT_EQ(withdrawn->front().revision, 2);
  EXPECT_EQ(withdrawn->front().body, "first") << "the body stays as it last was";
  EXPECT_EQ(store_->entries(EntryKind::unit)->size(), 1u);
  EXPECT_EQ(store_->entries(EntryKind::unit, true)->size(), 2u);
  EXPECT_TRUE((*store_->entry(EntryKind::unit, "a"))->is_withdrawn);
  EXPECT_EQ(code_of({EntryKind::unit, "a", {}, {}, "retire", ""}), "not_found");
  EXPECT_EQ(code_of({EntryKind::unit, "never", {}, {}, "retire", ""}), "not_found");
  ASSERT_TRUE(write({EntryKind::unit, "a", "third", 2, "replace", ""}));
  EXPECT_FALSE((*store_->entry(EntryKind::unit, "a"))->is_withdrawn);
}

TEST_F(Entries, AreNumberedByTheStoreAndANumberIsNeverGivenTwice) {
  EXPECT_EQ(write({EntryKind::booking, "", "{}", {}, "create", ""})->front().id, "b-0001");
  EXPECT_EQ(write({EntryKind::booking, "b-9999", "{}", {}, "create", ""})->front().id, "b-9999");
  EXPECT_EQ(write({EntryKind::booking, "", "{}", {}, "create", ""})->front().id, "b-10000");
  EXPECT_EQ(write({EntryKind::stop, "", "{}", {}, "create", ""})->front().id, "s-0001");
  ASSERT_TRUE(write({EntryKind::stop, "s-0001", {}, {}, "lift", "over"}));
  EXPECT_EQ(write({EntryKind::stop, "", "{}", {}, "create", ""})->front().id, "s-0002");
  for (int i = 1; i <= 11; ++i)
    EXPECT_EQ(write({EntryKind::observation, "", "{}", {}, "create", ""})->front().id, std::to_string(i));
  EXPECT_EQ(store_->entries(EntryKind::observation)->back().id, "11") << "they ascend as numbers";
  EXPECT_EQ(store_->entries(EntryKind::booking)->back().id, "b-10000");
}

TEST_F(Audit, HasARowForEachChangeWithBeforeAndAfter) {
  ASSERT_TRUE(write({EntryKind::stop, "", "ban", {}, "create", "declared"}));
  ASSERT_TRUE(write({EntryKind::stop, "s-0001", "longer ban", 1, "replace", "still dry"}));
  ASSERT_TRUE(write({EntryKind::stop, "s-0001", {}, 2, "lift", "rain"}));
  open();
  const auto rows = store_->audit(0, 10);
  ASSERT_EQ(rows->size(), 3u);
  const AuditRow& lift = rows->at(0);
  EXPECT_EQ(lift.seq, 3);
  EXPECT_EQ(lift.at, kNow);
  EXPECT_EQ(lift.actor + ' ' + lift.token_id + ' ' + lift.address + ' ' + lift.request_id, "Coordinator abcdefgh 192.0.2.7 r-1");
  EXPECT_EQ(lift.action + ' ' + lift.object + ' ' + lift.reason, "lift stop/s-0001 rain");
  EXPECT_EQ(lift.before + '>' + lift.after, "longer ban>");
  EXPECT_EQ(rows->at(1).before + '>' + rows->at(1).after, "ban>longer ban");
  EXPECT_EQ(rows->at(2).before + '>' + rows->at(2).after, ">ban");
}

TEST_F(Audit, IsReadPageByPageFromTheNewest) {
  for (int i = 1; i <= 5; ++i) ASSERT_TRUE(store_->add_audit(coordinator(), kNow, "set", "clock", std::to_string(i)));
  const auto page = store_->audit(0, 2);
  ASSERT_EQ(page->size(), 2u);
  EXPECT_EQ(page->front().seq, 5);
  EXPECT_EQ(store_->audit(page->back().seq, 2)->front().seq, 3);
  EXPECT_EQ(store_->audit(2, 10)->size(), 1u);
  EXPECT_TRUE(store_->audit(1, 10)->empty());
}

TEST_F(Audit, CannotBeChangedEvenBehindTheStoresBack) {
  ASSERT_TRUE(write({EntryKind::unit, "a", "{}", 0, "create", ""}));
  EXPECT_EQ(run_sql("state.db", "UPDATE audit SET actor = 'nobody'"), "the audit is not changed");
  EXPECT_EQ(run_sql("state.db", "DELETE FROM audit"), "the audit is not deleted");
  EXPECT_EQ(run_sql("state.db", "UPDATE entry_revision SET body = ''"), "revisions are not changed");
  EXPECT_EQ(run_sql("state.db", "DELETE FROM entry_revision"), "revisions are not deleted");
  EXPECT_EQ(store_->audit(0, 10)->front().actor, "Coordinator");
}

TEST_F(Audit, TellsOfTokens) {
  Token token;
  token.id = "qwertyui";
  token.name = "Board";
  token.secret_hash = "hash";
  token.role = Role::operator_;
  token.districts = {"north", "south"};
  token.created_at = kNow;
  token.expires_at = kNow + hours(1);
  ASSERT_TRUE(store_->add_token(coordinator(), kNow, token));
  EXPECT_EQ(store_->add_token(coordinator(), kNow, token).error().code, "exists");
  ASSERT_TRUE(store_->revoke_token(coordinator(), kNow, "qwertyui"));
  EXPECT_EQ(store_->revoke_token(coordinator(), kNow, "qwertyui").error().code, "not_found");
  EXPECT_EQ(store_->revoke_token(coordinator(), kNow, "nonesuch").error().code, "not_found");
  open();
  const auto kept = store_->token("qwertyui");
  ASSERT_TRUE(kept && *kept);
  EXPECT_EQ((*kept)->role, Role::operator_);
  EXPECT_EQ((*kept)->districts, token.districts);
  EXPECT_EQ((*kept)->expires_at, token.expires_at);
  EXPECT_EQ((*kept)->revoked_at, kNow);
  const auto rows = store_->audit(0, 10);
  ASSERT_EQ(rows->size(), 2u);
  EXPECT_EQ(rows->at(0).action, "revoke_token");
  EXPECT_EQ(rows->at(1).action + ' ' + rows->at(1).object, "create_token token/qwertyui");
  EXPECT_NE(rows->at(1).after.find(R"("role":"operator","districts":["north","south"])"), std::string::npos) << rows->at(1).after;
}

TEST_F(Runs, CountFromTheirPublicationOn) {
  const RunRow run = run_of("fine.1", kNow);
  const std::vector<SeriesBlob> blobs{
      {"a", 1, 0, "later"}, {"a", 0, 1, std::string("\0\xff", 2)}, {"a", 0, 0, ""}, {"b", 0, 0, "b"}};
  ASSERT_TRUE(store_->put_series(run.id, 1, run.content_hash, at_once(blobs)));
  EXPECT_EQ(bytes_of(run.id, "a"), "") << "not visible yet";
  const FileRow file{"fine", "one.nc", 12, "hash", kNow, "taken", run.id, "", ""};
  const CarriedRow carried{"a", LocalDate(days(20'000)), "state", "{}", false};
  ASSERT_TRUE(store_->publish({run, {file}, {carried}}));
  for (int i = 0; i < 2; ++i, open()) {
    EXPECT_EQ(bytes_of(run.id, "a"), std::string("00 01\0\xff 10later ", 16));
    EXPECT_EQ(bytes_of(run.id, "b"), "00b ");
    EXPECT_EQ(bytes_of(run.id, "c"), "");
    ASSERT_EQ(store_->runs()->size(), 1u);
    EXPECT_EQ(store_->runs()->front().details, run.details);
    EXPECT_EQ(store_->runs()->front().reference_time, kNow);
    EXPECT_EQ(store_->files("fine")->front().path, "one.nc");
    EXPECT_EQ(store_->carried("a")->front().rain_day, carried.rain_day);
    EXPECT_TRUE(store_->runs_without_series()->empty());
  }
}

TEST_F(Runs, ThatWereNotPublishedLeaveNoSeries) {
  const RunRow run = run_of("fine.1", kNow);
  ASSERT_TRUE(store_->put_series(run.id, 1, run.content_hash, at_once({{"a", 0, 0, "x"}})));
  open();
  ASSERT_TRUE(store_->publish({run, {}, {}}));
  EXPECT_EQ(bytes_of(run.id, "a"), "") << "dropped when the store was opened";
  ASSERT_EQ(store_->runs_without_series()->size(), 1u);
  EXPECT_EQ(store_->runs_without_series()->front().id, run.id) << "so that it is evaluated again";
}

TEST_F(Runs, OfANewRevisionReplaceTheOldOneWhole) {
  evaluate(run_of("fine.1", kNow, 1), {{"a", 0, 0, "old"}, {"b", 0, 0, "old"}});
  const RunRow next = run_of("fine.1", kNow, 2);
  ASSERT_TRUE(store_->put_series(next.id, 2, next.content_hash, at_once({{"a", 0, 0, "new"}})));
  EXPECT_EQ(bytes_of("fine.1", "a"), "00old ");
  ASSERT_TRUE(store_->publish({next, {}, {}}));
  EXPECT_EQ(bytes_of("fine.1", "a"), "00new ");
  EXPECT_EQ(bytes_of("fine.1", "b"), "") << "no mixture of two revisions";
  ASSERT_EQ(store_->runs()->size(), 1u);
  EXPECT_EQ(store_->runs()->front().revision, 2);
}

TEST_F(Runs, KeepTheirSeriesWhenALaterRevisionIsRefused) {
  evaluate(run_of("fine.1", kNow, 1), {{"a", 0, 0, "good"}});
  RunRow refused = run_of("fine.1", kNow, 2);
  refused.state = "refused";
  refused.is_published = false;
  ASSERT_TRUE(store_->publish({refused, {}, {}}));
  open();
  EXPECT_EQ(bytes_of("fine.1", "a"), "00good ");
  EXPECT_EQ(store_->runs()->front().state, "refused");
  EXPECT_TRUE(store_->runs_without_series()->empty());
}

TEST_F(Runs, OfTheSameContentArePutAgainWhole) {
  const RunRow run = run_of("fine.1", kNow);
  evaluate(run, {{"a", 0, 0, "a"}});
  ASSERT_TRUE(store_->put_series(run.id, 1, run.content_hash, at_once({{"a", 0, 0, "a"}, {"b", 0, 0, "b"}})));
  EXPECT_EQ(bytes_of("fine.1", "b"), "00b ") << "as when a unit was added";
}

// Every hour of every run stays readable by unit and run; the lead is the hour less the run's reference time.
TEST_F(Runs, StayReadableByUnitAndRunUntilTheyAreForgotten) {
  for (int i = 0; i < 12; ++i)
    for (int revision = 1; revision <= 1 + i % 2; ++revision)
      evaluate(run_of("fine." + std::to_string(i), kNow + hours(6 * i), revision),
               {{"a", 0, 0, std::to_string(10 * i + revision)}});
  open();
  for (int i = 0; i < 12; ++i)
    EXPECT_EQ(bytes_of("fine." + std::to_string(i), "a"), "00" + std::to_string(10 * i + 1 + i % 2) + ' ');
  EXPECT_EQ(store_->runs()->front().id, "fine.11");
  EXPECT_EQ(store_->runs()->back().id, "fine.0");
}

TEST_F(Runs, AreForgottenByTheirReferenceTimeAndTheirRowsStay) {
  for (int i = 0; i < 4; ++i) {
    evaluate(run_of("fine." + std::to_string(i), kNow + hours(6 * i)), {{"a", 0, 0, "x"}});
    const std::vector<FileRow> files{
        {"fine", std::to_string(i) + ".nc", 1, "", kNow, "taken", "fine." + std::to_string(i), "", ""}};
    ASSERT_TRUE(store_->note_files(files));
  }
  for (const auto& [name, age] : {std::pair("old", 0), {"new", 24}}) {
    const FileRow refused{"fine", std::string(name) + ".txt", 1, "", kNow + hours(age), "refused", "", "not a forecast", ""};
    ASSERT_TRUE(store_->note_files({&refused, 1}));
  }
  ASSERT_TRUE(store_->forget_series(kNow + hours(12)));
  for (int i = 0; i < 2; ++i, open()) {
    EXPECT_EQ(bytes_of("fine.1", "a"), "");
    EXPECT_EQ(bytes_of("fine.2", "a"), "00x ") << "the instant itself is not before it";
    EXPECT_EQ(store_->files("fine")->size(), 3u) << "two runs' and the newer refused one";
    EXPECT_EQ(store_->runs()->size(), 4u);
    EXPECT_TRUE(store_->runs_without_series()->empty()) << "what was forgotten is not to be evaluated again";
  }
}

TEST_F(Runs, AreNamedWhenTheirSeriesAreLost) {
  evaluate(run_of("fine.2", kNow + hours(6)), {{"a", 0, 0, "x"}});
  evaluate(run_of("fine.1", kNow), {{"a", 0, 0, "x"}});
  store_.reset();
  std::filesystem::remove(folder_.path() / "series.db");
  open();
  const auto lost = store_->runs_without_series();
  ASSERT_EQ(lost->size(), 2u);
  EXPECT_EQ(lost->front().id, "fine.1") << "oldest first";
  evaluate(lost->front(), {{"a", 0, 0, "again"}});
  EXPECT_EQ(store_->runs_without_series()->size(), 1u);
  EXPECT_EQ(bytes_of("fine.1", "a"), "00again ");
}

TEST_F(Runs, OutliveADamagedSeriesDatabaseWhichIsSetAside) {
  evaluate(run_of("fine.1", kNow), {{"a", 0, 0, "x"}});
  store_.reset();
  folder_.write("series.db", std::string(8192, 'x'));
  open();
  EXPECT_EQ(store_->runs_without_series()->size(), 1u);
  EXPECT_TRUE(std::filesystem::exists(folder_.path() / "series.db.damaged-20270329T060000Z"))
      << "named by the time of the opening";
}

TEST_F(StoreTest, NeverLetsAForecastOverwriteAnObservedState) {
  const LocalDate day{days(20'000)};
  const auto put = [&](std::string state, bool is_observed) {
    const std::vector<CarriedRow> rows{{"a", day, std::move(state), "{}", is_observed}};
    ASSERT_TRUE(store_->put_carried(rows));
  };
  const auto state = [&] { return store_->carried("a")->front().state; };
  put("forecast", false);
  put("next forecast", false);
  EXPECT_EQ(state(), "next forecast");
  put("observed", true);
  put("forecast", false);
  EXPECT_EQ(state(), "observed");
  ASSERT_TRUE(store_->publish(
      {run_of("fine.1", kNow), {}, {{"a", day, "forecast", "{}", false}, {"a", day + days(1), "next", "{}", false}}}));
  EXPECT_EQ(state(), "observed");
  EXPECT_EQ(store_->carried("a")->back().state, "next");
  put("corrected", true);
  EXPECT_EQ(state(), "corrected");
}

TEST_F(StoreTest, KeepsSmallThings) {
  EXPECT_FALSE(*store_->note("clock"));
  ASSERT_TRUE(store_->set_note("clock", "one"));
  ASSERT_TRUE(store_->set_note("clock", "two"));
  open();
  EXPECT_EQ(*store_->note("clock"), "two");
}

TEST_F(StoreTest, ServesReadersWhileOneWrites) {
  evaluate(run_of("fine.1", kNow), {{"a", 0, 0, "0"}});
  std::atomic<bool> is_over = false;
  std::atomic<int> wrong = 0;
  std::vector<std::thread> readers;
  for (int i = 0; i < 2; ++i)
    readers.emplace_back([&] {
      int newest = 0;
      while (!is_over) {
        const auto unit = store_->entry(EntryKind::unit, "a");
        const auto other = store_->entry(EntryKind::unit, "b");
        const auto blobs = store_->series("fine.1", "a");
        if (!unit || !other || !blobs || blobs->size() != 1) ++wrong;
        if (!unit || !*unit || !other || !*other) continue;
        // Both are written by one transaction, and b is read later.
        if ((*other)->revision < (*unit)->revision || (*unit)->revision < newest) ++wrong;
        newest = (*unit)->revision;
      }
    });
  for (int i = 1; i <= 50; ++i) {
    const std::vector<Change> changes{{EntryKind::unit, "a", "{}", {}, "replace", ""},
                                      {EntryKind::unit, "b", "{}", {}, "replace", ""}};
    EXPECT_TRUE(store_->write(coordinator(), kNow, changes));
    const RunRow run = run_of("fine.1", kNow);
    EXPECT_TRUE(store_->put_series(run.id, 1, run.content_hash, at_once({{"a", 0, 0, std::to_string(i)}})));
  }
  is_over = true;
  for (std::thread& reader : readers) reader.join();
  EXPECT_EQ(wrong, 0);
}

}  // namespace
}  // namespace hakea::service
