// The REST interface on the demo district without a socket: a real store in a folder of its own, and an engine that judges
// the district's ten-day story from its weather table at once.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "service/http/api.h"
#include "service/input/config.h"
#include "service/input/json.h"
#include "service/tell/calendars.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {

using Strings = std::vector<std::string>;

struct Answer {
  int status = 0;
  std::string type, text;
  service::json::value body;  // null when the text is no JSON
  std::vector<std::pair<std::string, std::string>> headers;

  std::string header(std::string_view name) const;
  // The member at a JSON pointer, as JSON text; "none" when there is no such member.
  std::string at(std::string_view pointer) const;
  // "pointer code" of every error of a problem, sorted.
  Strings mistakes() const;
};
Answer answer_of(const service::Response& response);

class ApiRig {
 public:
  explicit ApiRig(bool is_demo = true);
  ~ApiRig();

  // Whether the demo's files are there; without them a test is skipped.
  static bool has_files();

  // `target` below /api/v1, or with /ogc or /cal.
  Answer call(const std::string& method, const std::string& target, const std::string& body = {},
              const std::map<std::string, std::string>& headers = {});
  Answer get(const std::string& target) { return call("GET", target); }

  // Calls carry this token from now on; an empty one: none.
  void use_token(const std::string& token) { token_ = token; }
  const std::string& token_in_use() const { return token_; }
  std::string token(service::Role role, std::vector<std::string> districts = {});
  std::string token(service::Token wanted);  // without name or expiry: named by its role, for 30 days

  service::Store& store() { return *store_; }
  service::ApiParts& parts() { return parts_; }
  // Another process, to which the same picture comes again.
  void begin_calendars_again();
  // The service's time moves on and everything is judged at it.
  void judge_at(UtcTime now);
  service::Config& config() { return config_; }
  std::shared_ptr<const service::Snapshot> picture() const { return parts_.engine->snapshot(); }
  // While it fails, what is written is stored but answered with an error.
  void let_judging_fail(bool fails);
  void show_progress(std::optional<service::Progress> progress);

  // The service's time, which stands still but for the machine's own seconds.
  service::Clock clock;

 private:
  TempDir folder_;
  service::Config config_;
  std::unique_ptr<service::Store> store_;
  std::unique_ptr<service::Calendars> calendars_;
  std::unique_ptr<service::Engine> engine_;
  service::ApiParts parts_;
  std::string token_;
};

// The beginning of tests on a rig. Without the demo's files they are skipped, and there is no rig to set up further.
class ApiTest : public ::testing::Test {
 protected:
  explicit ApiTest(bool is_demo = true) : is_demo_(is_demo) {}
  void SetUp() override;

  // One day of a unit, as /units/{id}/days has it; null where it has none.
  service::json::value day(const std::string& unit, const std::string& date);
  std::string verdict(const std::string& unit, const std::string& date);

  std::unique_ptr<ApiRig> rig;

 private:
  bool is_demo_;
};

// The prescription of a unit of the demo as its file has it, to be changed and sent.
service::json::value demo_prescription(const std::string& unit);

}  // namespace hakea::test
