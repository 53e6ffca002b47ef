// The configuration: what is shipped is right, what is wrong is named, what is commented is the default.
#include "service/input/config.h"

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include <cstdlib>
#include <fstream>
#include <regex>
#include <sstream>
#include <thread>

#include "service/input/json.h"
#include "tests/support/case_file.h"
#include "tests/support/temp_dir.h"

namespace hakea::service {
namespace {

std::string tree() { return std::filesystem::path(test::tests_folder()).parent_path().string(); }

class Configuration : public ::testing::Test {
 protected:
  Result<Config> read(const std::string& text) { return read_config(folder_.write("service.toml", text).string()); }
  std::string mistakes(const std::string& text) {
    std::string all;
    if (const auto config = read(text); !config)
      for (const Error& e : config.errors())
        all += e.code + " " + e.where.substr(e.where.rfind('/') + 1) + " " + e.what + " " + e.hint + "\n";
    return all;
  }
  test::TempDir folder_;
};

// The shipped file with its commented keys put in force; a relative folder of tables would have to be there.
std::string uncommented(const std::string& text) {
  std::istringstream lines(text);
  std::string all;
  const std::regex commented(R"(^# (\[[a-z.]+\].*|[a-z_0-9]+ = .*)$)");
  for (std::string line; std::getline(lines, line);) {
    std::smatch key;
    if (line.starts_with("# tables")) continue;
    all += (std::regex_match(line, key, commented) ? key[1].str() : line) + "\n";
  }
  return all;
}

TEST_F(Configuration, AsShippedItIsRightAndHoldsTheDefaults) {
  const auto shipped = read_config(tree() + "/config/service.toml");
  ASSERT_TRUE(shipped) << shipped.error().what;
  const Config usual;
  EXPECT_EQ(shipped->data, usual.data);
  EXPECT_EQ(shipped->server.port, usual.server.port);
  EXPECT_TRUE(shipped->feeds.empty());
}

TEST_F(Configuration, WhatIsCommentedIsTheDefault) {
  const auto text = read_text_file(tree() + "/config/service.toml");
  ASSERT_TRUE(text);
  const auto all = read(uncommented(*text));
  ASSERT_TRUE(all) << mistakes(uncommented(*text));
  const Config usual;
  EXPECT_EQ(all->data, usual.data);
  EXPECT_EQ(all->server.address, usual.server.address);
  EXPECT_EQ(all->server.port, usual.server.port);
  EXPECT_EQ(all->server.header_bytes, usual.server.header_bytes);
  EXPECT_EQ(all->server.body_bytes, usual.server.body_bytes);
  EXPECT_EQ(all->server.seconds_for_request, usual.server.seconds_for_request);
  EXPECT_EQ(all->server.seconds_idle, usual.server.seconds_idle);
  EXPECT_EQ(all->server.connections, usual.server.connections);
  EXPECT_EQ(all->server.connections_per_address, usual.server.connections_per_address);
  EXPECT_EQ(all->server.proxies, usual.server.proxies);
  EXPECT_EQ(all->admin, usual.admin);
  EXPECT_EQ(all->admin.address, "127.0.0.1");
  EXPECT_EQ(all->admin.port, 9464);
  EXPECT_FALSE(all->access.anonymous_read);
  ASSERT_TRUE(all->access.oidc);
  const OidcSettings oidc;
  EXPECT_EQ(all->access.oidc->role_claim, oidc.role_claim);
  EXPECT_EQ(all->access.oidc->name_claim, oidc.name_claim);
  EXPECT_EQ(all->access.oidc->roles.at("burn_officers"), Role::officer);
  EXPECT_EQ(all->alerts, usual.alerts);
  EXPECT_EQ(all->deliver.webhooks, usual.deliver.webhooks);
  ASSERT_TRUE(all->deliver.mail);
  EXPECT_EQ(all->deliver.mail->port, 587);
  EXPECT_EQ(all->deliver.mail->tls, MailSettings::Tls::starttls);
  ASSERT_EQ(all->feeds.size(), 1U);
  EXPECT_EQ(all->feeds[0].id, "fine");
  EXPECT_EQ(all->feeds[0].settle_s, ingest::Feed().settle_s);
}

TEST_F(Configuration, AllMistakesAreNamedWithWhatWouldDo) {
  const std::string found = mistakes(
      "[service]\nadress = \"::1\"\naddress = \"localhost\"\nport = 70000\nproxies = "
      "[\"10.0.0.0/8\"]\n[service.limits]\nconnections = 0.5\nbodies = 1\n"
      "[feeds.a]\npatern = \"*.nc\"\n");
  EXPECT_NE(found.find("unknown_key"), std::string::npos) << found;
  EXPECT_NE(found.find("did you mean \"address\"?"), std::string::npos) << found;
  EXPECT_NE(found.find("\"localhost\" is not an IP address"), std::string::npos) << found;
  EXPECT_NE(found.find("port is 70000"), std::string::npos) << found;
  EXPECT_NE(found.find("\"10.0.0.0/8\" is not an IP address"), std::string::npos) << found;
  EXPECT_NE(found.find("connections is 0.5"), std::string::npos) << found;
  EXPECT_NE(found.find("bodies"), std::string::npos) << found;
  EXPECT_NE(found.find("pattern"), std::string::npos) << found;
}

TEST_F(Configuration, MistakesOfWhatIsSentAreNamed) {
  const std::string found = mistakes(
      "[webhooks]\nallow_networks = [\"10.0.0.0\"]\nports = [0]\n[mail]\nhost = \"relay.shire.example\"\ntls = \"none\"\n"
      "from = \"nobody\"\nuser = \"u\"\npasword_file = \"p\"\n[alerts]\nescalate_after_min = 1\n");
  for (const char* part :
       {"\"10.0.0.0\" is no network", "a port is no number from 1 to 65535", "mail would leave this machine unencrypted",
        "\"nobody\"", "is no origin", "a user without a password", "did you mean \"password_file\"?", "escalate_after_min is 1"})
    EXPECT_NE(found.find(part), std::string::npos) << part << "\n" << found;
}

TEST_F(Configuration, MistakesOfAccessAreNamed) {
  const std::string found = mistakes(
      "[auth]\nanonymous_raed = true\norigin = \"burns.example\"\n[auth.oidc]\nissuer = \"\"\nkeys = \"http://id.example/jwks\"\n"
      "[auth.oidc.roles]\nboss = \"king\"\n");
  for (const char* part : {"did you mean \"anonymous_read\"?", "not_an_origin", "issuer is needed", "audience is needed",
                           "fetched by https only", "\"king\" is not known"})
    EXPECT_NE(found.find(part), std::string::npos) << part << " in\n" << found;
  EXPECT_NE(
      mistakes("[auth.oidc]\nissuer = \"a\"\naudience = \"b\"\nkeys = \"none.json\"\n[auth.oidc.roles]\n").find("unreadable"),
      std::string::npos);
}

TEST_F(Configuration, WhatDaysRestOnIsToldFromHowCallersAreServed) {
  const auto key = [&](const std::string& text) { return read(text)->judged_by; };
  const std::string feed = "[feeds.fine]\npath = \"a\"\n";
  EXPECT_EQ(key(feed), key(feed + "[auth]\nanonymous_read = true\n"));
  EXPECT_NE(key(feed), key("[feeds.fine]\npath = \"b\"\n"));
  EXPECT_NE(key("[feeds.a]\n[feeds.b]\n"), key("[feeds.b]\n[feeds.a]\n")) << "the order is the preference";
  folder_.write("past.csv", "time_utc\n");
  const std::string before = key("history = [\"past.csv\"]\n");
  folder_.write("past.csv", "time_utc\n2027-01-01T00:00:00Z\n");
  EXPECT_NE(key("history = [\"past.csv\"]\n"), before) << "what stands in the files";
}

TEST_F(Configuration, FeedsKeepTheOrderOfTheFile) {
  const auto config = read("[feeds.zebra]\npath = \"z\"\n[feeds.ant]\npath = \"/a\"\n[feeds.middle]\n");
  ASSERT_TRUE(config);
  ASSERT_EQ(config->feeds.size(), 3U);
  EXPECT_EQ(config->feeds[0].id, "zebra");
  EXPECT_EQ(config->feeds[1].id, "ant");
  EXPECT_EQ(config->feeds[2].id, "middle");
  EXPECT_EQ(config->feeds[0].path, (folder_.path() / "z").string()) << "beside the file";
  EXPECT_EQ(config->feeds[1].path, "/a");
}

TEST(TextFile, IsReadWholeWhateverItIs) {
  const test::TempDir folder;
  const std::string file = (folder.path() / "file").string(), pipe = (folder.path() / "pipe").string();
  std::ofstream(file).close();
  ASSERT_TRUE(read_text_file(file));
  EXPECT_EQ(*read_text_file(file), "");
  const std::string long_text(300'001, 'x');
  std::ofstream(file) << long_text;
  EXPECT_EQ(*read_text_file(file), long_text);
  ASSERT_EQ(mkfifo(pipe.c_str(), 0600), 0);  // which has no size
  const std::jthread writer([&] { std::ofstream(pipe) << long_text; });
  EXPECT_EQ(*read_text_file(pipe), long_text);
  for (const std::string& none : {folder.path().string(), file + ".not"}) {
    const auto text = read_text_file(none);
    ASSERT_FALSE(text) << none;
    EXPECT_EQ(text.error().code, "unreadable");
  }
}

int outcome(const std::string& command) {
  const int status = std::system(command.c_str());
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

TEST(ServiceUnit, KnowsOnlyOptionsOfItsManagerAndIsWellShutIn) {
  if (outcome("command -v systemd-analyze >/dev/null") != 0) GTEST_SKIP() << "no systemd-analyze here";
  const test::TempDir folder;
  const std::string unit = tree() + "/deploy/hakea.service", said = (folder.path() / "said").string();
  outcome("systemd-analyze verify '" + unit + "' >'" + said + "' 2>&1");
  const auto text = read_text_file(said);
  ASSERT_TRUE(text);
  EXPECT_EQ(text->find("Unknown"), std::string::npos) << *text;
  EXPECT_EQ(outcome("systemd-analyze security --offline=yes --threshold=20 '" + unit + "' >'" + said + "' 2>&1"), 0)
      << *read_text_file(said);
}

}  // namespace
}  // namespace hakea::service
