// A store in memory, for tests of what stands on a store. Its writes can be made to fail.
#pragma once

#include <map>
#include <mutex>

#include "service/store/store.h"

namespace hakea::test {

using namespace service;

class MemoryStore final : public Store {
 public:
  Result<std::vector<Entry>> write(const Actor& actor, UtcTime now, std::span<const Change> changes,
                                   const KeyedRequest* request = nullptr, const Beside& beside = {}) override;
  Result<std::optional<KeyedDeed>> deed(std::string_view, std::string_view, UtcTime) override {
    return std::optional<KeyedDeed>();
  }
  Result<bool> keep_answer(const KeyedRequest&, const KeyedDeed::Answer&) override { return true; }
  Result<std::int64_t> last_change() override { return std::int64_t{0}; }
  Result<std::vector<Entry>> entries(EntryKind kind, bool also_withdrawn) override;
  Result<std::optional<Entry>> entry(EntryKind kind, std::string_view id) override;
  Result<std::optional<Entry>> revision(EntryKind kind, std::string_view id, int revision) override;
  Result<std::vector<AuditRow>> audit(std::int64_t, int) override { return std::vector<AuditRow>(); }
  Result<bool> add_audit(const Actor&, UtcTime, std::string, std::string, std::string) override { return true; }

  Result<bool> add_token(const Actor&, UtcTime, const Token&) override { return true; }
  Result<std::vector<Token>> tokens() override { return std::vector<Token>(); }
  Result<std::optional<Token>> token(std::string_view) override { return std::optional<Token>(); }
  Result<bool> revoke_token(const Actor&, UtcTime, std::string_view) override { return true; }
  Result<bool> token_used(std::string_view, UtcTime) override { return true; }
  Result<bool> add_session(const Actor&, const PageSession&, UtcTime) override { return true; }
  Result<std::optional<PageSession>> session(std::string_view) override { return std::optional<PageSession>(); }
  Result<bool> session_seen(std::string_view, UtcTime) override { return true; }
  Result<bool> end_session(const Actor&, UtcTime, std::string_view) override { return true; }

  Result<bool> put_series(std::string_view run, int revision, std::string_view content_hash, const NextBlobs& next) override;
  Result<bool> publish(const Publication& publication) override;
  Result<std::vector<RunRow>> runs() override;
  Result<std::vector<SeriesBlob>> series(std::string_view run, std::string_view unit) override;
  Result<bool> note_files(std::span<const FileRow> files) override;
  Result<std::vector<FileRow>> files(std::string_view feed) override;
  Result<std::vector<CarriedRow>> carried(std::string_view unit) override;
  Result<bool> put_carried(std::span<const CarriedRow> rows) override;
  Result<std::vector<RunRow>> runs_without_series() override;
  Result<bool> forget_series(UtcTime) override { return true; }

  Result<std::optional<std::string>> note(std::string_view) override { return std::optional<std::string>(); }
  Result<bool> set_note(std::string_view, std::string_view) override { return true; }
  Result<bool> backup(const std::string&) override { return true; }
  std::string trouble() const override { return ""; }

  // The n-th write of a run from now on fails, once (1 = the next).
  void fail_at(int write) { fails_in_ = write; }
  void drop_series() { series_.clear(); }
  // As if no run had ever come; what people entered stays.
  void forget_runs() {
    runs_.clear();
    series_.clear();
    files_.clear();
    carried_.clear();
  }
  int put_series_calls = 0, publications = 0, failures = 0;

 private:
  bool fails();
  void keep_carried(std::span<const CarriedRow> rows);

  std::recursive_mutex lock_;
  int fails_in_ = 0;
  std::map<std::pair<EntryKind, std::string>, std::vector<Entry>> entries_;
  std::map<std::pair<std::string, int>, RunRow> runs_;
  std::map<std::tuple<std::string, int, std::string>, std::vector<SeriesBlob>> series_;
  std::map<std::pair<std::string, std::string>, FileRow> files_;
  std::map<std::pair<std::string, LocalDate>, CarriedRow> carried_;
};

}  // namespace hakea::test
