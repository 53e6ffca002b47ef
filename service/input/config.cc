#include "service/input/config.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <sstream>

#include "service/base/content_hash.h"
#include "service/http/forwarded.h"
#include "service/input/access_config.h"
#include "service/input/deliver_config.h"
#include "service/input/json.h"
#include "service/input/toml_table.h"

namespace hakea::service {
namespace {

void read_feeds(const toml::node& node, const std::string& path, const std::filesystem::path& beside, Config& config,
                Errors& mistakes) {
  const toml::table* feeds = node.as_table();
  if (!feeds) {
    mistakes.push_back({ErrorKind::invalid, "wrong_kind", path + ": feeds", "feeds is not a table",
                        "write [feeds.NAME] and the feed's keys below"});
    return;
  }
  std::vector<std::pair<std::uint32_t, ingest::Feed>> by_line;  // a table of the library is in the order of its keys
  for (const auto& [id, feed_node] : *feeds) {
    const toml::table* table = feed_node.as_table();
    const std::string name = fmt::format("{}: feeds.{}", path, id.str());
    if (!table) {
      mistakes.push_back({ErrorKind::invalid, "wrong_kind", name, fmt::format("{} is not a table", id.str()),
                          fmt::format("write [feeds.{}] and the feed's keys below", id.str())});
      continue;
    }
    std::ostringstream text;
    text << *table;
    auto feed = ingest::parse_feed(std::move(text).str(), name);
    if (feed) {
      feed->id = std::string(id.str());
      if (!feed->path.empty()) feed->path = (beside / feed->path).lexically_normal().string();
      if (!feed->set_aside.empty()) feed->set_aside = (beside / feed->set_aside).lexically_normal().string();
      if (!feed->set_aside.empty() && feed->set_aside == feed->path)
        mistakes.push_back({ErrorKind::invalid, "same_folder", name,
                            fmt::format("feeds.{}: set_aside is the folder that is watched", feed->id),
                            "name another folder for refused files"});
      by_line.emplace_back(table->source().begin.line, *std::move(feed));
    } else {
      mistakes.insert(mistakes.end(), feed.errors().begin(), feed.errors().end());
    }
  }
  std::sort(by_line.begin(), by_line.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  for (auto& [line, feed] : by_line) config.feeds.push_back(std::move(feed));
}

// A whole number of a key that may be left out.
template <class T>
void read_whole(TomlTable& table, std::string_view key, std::int64_t lowest, std::int64_t highest, T& value) {
  if (const auto number = table.whole_number(key, lowest, highest)) value = static_cast<T>(*number);
}

void check_address(TomlTable& table, std::string_view key, const std::string& address) {
  if (!is_ip_address(address))
    table.refuse(key, "not_an_address", fmt::format("\"{}\" is not an IP address", address),
                 "write one such as 127.0.0.1, ::1 or 0.0.0.0");
}

void read_cors(const toml::node& node, const std::string& path, ApiSettings& api, Errors& mistakes) {
  TomlTable table(node, "service.cors", path, mistakes);
  api.allowed_origins = table.texts("allowed_origins");
  for (const std::string& origin : api.allowed_origins)
    if (!is_origin(origin))
      table.refuse("allowed_origins", "not_an_origin", fmt::format("\"{}\" is no origin", origin),
                   "write each exactly as browsers do, such as https://maps.example.org; there are no patterns");
  table.refuse_unknown_keys();
}

void read_service(const toml::node& node, const std::string& path, const std::filesystem::path& beside, Config& config,
                  Errors& mistakes) {
  TomlTable table(node, "service", path, mistakes);
  if (const auto data = table.text("data")) {
    if (data->empty()) table.refuse("data", "required", "data is empty", "name the folder of the databases");
    config.data = (beside / *data).lexically_normal().string();
  }
  ServerSettings& server = config.server;
  if (const auto address = table.text("address")) {
    check_address(table, "address", *address);
    server.address = *address;
  }
  server.proxies = table.texts("proxies");
  for (const std::string& proxy : server.proxies) check_address(table, "proxies", proxy);
  read_whole(table, "port", 0, 65535, server.port);
  if (const auto address = table.text("admin_address")) {
    check_address(table, "admin_address", *address);
    config.admin.address = *address;
  }
  read_whole(table, "admin_port", 0, 65535, config.admin.port);
  if (const toml::node* limits = table.find("limits")) {
    TomlTable limit(*limits, "service.limits", path, mistakes);
    read_whole(limit, "header_bytes", 1024, 1 << 20, server.header_bytes);
    read_whole(limit, "body_bytes", 1024, 1 << 30, server.body_bytes);
    read_whole(limit, "body_bytes_together", 1024, 1 << 30, server.body_bytes_together);
    read_whole(limit, "seconds_for_request", 1, 600, server.seconds_for_request);
    read_whole(limit, "seconds_idle", 1, 3600, server.seconds_idle);
    read_whole(limit, "connections", 1, 100'000, server.connections);
    read_whole(limit, "connections_per_address", 1, 100'000, server.connections_per_address);
    read_whole(limit, "kept_answers_bytes", 0, 1 << 30, config.api.kept_answers_bytes);
    limit.refuse_unknown_keys();
  }
  if (const toml::node* rate = table.find("rate_limit")) {
    TomlTable limit(*rate, "service.rate_limit", path, mistakes);
    read_whole(limit, "requests", 0, 1'000'000, config.api.requests);
    read_whole(limit, "seconds", 1, 86'400, config.api.seconds);
    limit.refuse_unknown_keys();
  }
  if (const toml::node* cors = table.find("cors")) read_cors(*cors, path, config.api, mistakes);
  table.refuse_unknown_keys();
}

// What days rest on, all of it: how callers are served is left out.
std::string hash_of_what_judges(const toml::table& document, const Config& config) {
  toml::table rest = document;
  for (const char* other : {"alerts", "auth", "mail", "service", "webhooks"}) rest.erase(other);
  std::ostringstream text;
  text << rest;
  for (const ingest::Feed& feed : config.feeds) text << '\n' << feed.id;  // the library forgets their order
  std::set<std::string> files(config.history.begin(), config.history.end());
  std::error_code failed;
  if (!config.tables.empty())
    for (const auto& file : std::filesystem::directory_iterator(config.tables, failed)) files.insert(file.path().string());
  for (const std::string& file : files) text << '\n' << file << ' ' << content_hash_of_file(file).value_or("");
  return content_hash(std::move(text).str());
}

}  // namespace

Result<Config> read_config(const std::string& path) {
  const auto text = read_text_file(path);
  if (!text) return text.errors();
  const auto document = parse_toml(*text, path);
  if (!document) return document.errors();
  const std::filesystem::path beside = std::filesystem::path(path).parent_path();
  Config config;
  config.fuels = built_in_fuels();
  Errors mistakes;
  TomlTable table(*document, "", path, mistakes);
  if (const auto tables = table.text("tables")) {
    config.tables = (beside / *tables).string();
    if (!std::filesystem::is_directory(config.tables)) {
      table.refuse("tables", "unreadable", fmt::format("there is no folder {}", config.tables),
                   "give a folder with tables such as fuels.toml, or leave it out for the built-in ones");
    } else {
      const auto take = [&](auto tables_of_folder, auto& into) {
        if (tables_of_folder)
          into = *std::move(tables_of_folder);
        else
          mistakes.insert(mistakes.end(), tables_of_folder.errors().begin(), tables_of_folder.errors().end());
      };
      take(fuels_of_folder(config.tables), config.fuels);
      take(ventilation_of_folder(config.tables), config.ventilation);
    }
  }
  for (const std::string& file : table.texts("history")) config.history.push_back((beside / file).lexically_normal().string());
  if (const toml::node* service = table.find("service")) read_service(*service, path, beside, config, mistakes);
  if (const toml::node* access = table.find("auth")) config.access = read_access(*access, path, beside, mistakes);
  if (const toml::node* alerts = table.find("alerts")) config.alerts = read_alert_rules(*alerts, path, mistakes);
  if (const toml::node* webhooks = table.find("webhooks"))
    config.deliver.webhooks = read_webhooks(*webhooks, path, beside, mistakes);
  if (const toml::node* mail = table.find("mail")) config.deliver.mail = read_mail(*mail, path, beside, mistakes);
  if (const toml::node* feeds = table.find("feeds")) read_feeds(*feeds, path, beside, config, mistakes);
  table.refuse_unknown_keys();
  if (!mistakes.empty()) return mistakes;
  config.judged_by = hash_of_what_judges(*document, config);
  return config;
}

}  // namespace hakea::service
