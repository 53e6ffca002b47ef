#include "service/input/config.h"

#include <fmt/format.h>

#include <filesystem>
#include <sstream>

#include "service/input/json.h"
#include "service/input/toml_table.h"

namespace hakea::service {
namespace {

void read_feeds(const toml::node& node, const std::string& path, Config& config, Errors& mistakes) {
  const toml::table* feeds = node.as_table();
  if (!feeds) {
    mistakes.push_back({ErrorKind::invalid, "wrong_kind", path + ": feeds", "feeds is not a table",
                        "write [feeds.NAME] and the feed's keys below"});
    return;
  }
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
      config.feeds.push_back(*std::move(feed));
    } else {
      mistakes.insert(mistakes.end(), feed.errors().begin(), feed.errors().end());
    }
  }
}

}  // namespace

Result<Config> read_config(const std::string& path) {
  const auto text = read_text_file(path);
  if (!text) return text.errors();
  const auto document = parse_toml(*text, path);
  if (!document) return document.errors();
  Config config{{}, built_in_fuels(), {}};
  Errors mistakes;
  TomlTable table(*document, "", path, mistakes);
  if (const auto tables = table.text("tables")) {
    // A relative folder stands beside the configuration.
    config.tables = (std::filesystem::path(path).parent_path() / *tables).string();
    if (!std::filesystem::is_directory(config.tables)) {
      table.refuse("tables", "unreadable", fmt::format("there is no folder {}", config.tables),
                   "give a folder with tables such as fuels.toml, or leave it out for the built-in ones");
    } else if (auto fuels = fuels_of_folder(config.tables)) {
      config.fuels = *std::move(fuels);
    } else {
      mistakes.insert(mistakes.end(), fuels.errors().begin(), fuels.errors().end());
    }
  }
  if (const toml::node* feeds = table.find("feeds")) read_feeds(*feeds, path, config, mistakes);
  table.refuse_unknown_keys();
  if (!mistakes.empty()) return mistakes;
  return config;
}

}  // namespace hakea::service
