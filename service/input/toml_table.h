// A table of a TOML file, read with every mistake collected and unknown keys refused by name.
#pragma once

#include <toml++/toml.h>

#include <cstdint>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "core/base/result.h"

namespace hakea::service {

// Error: `not_toml`, with line and column.
Result<toml::table> parse_toml(std::string_view text, const std::string& name_for_messages);

class TomlTable {
 public:
  // `name` is the table's dotted name, empty for the file's own. Not a table: a mistake, and it acts as empty.
  TomlTable(const toml::node& node, std::string name, std::string file, Errors& mistakes);

  void ignore(std::initializer_list<std::string_view> keys) { known_.insert(keys.begin(), keys.end()); }
  const toml::node* find(std::string_view key);
  std::optional<double> number(std::string_view key);
  std::optional<std::int64_t> whole_number(std::string_view key, std::int64_t lowest, std::int64_t highest);
  std::optional<bool> yes_or_no(std::string_view key);
  std::optional<std::string> text(std::string_view key);
  std::vector<std::string> texts(std::string_view key);  // of a list; none without the key
  std::optional<std::size_t> word(std::string_view key, std::span<const std::string_view> known);
  void refuse(std::string_view key, std::string code, std::string what, std::string hint);
  void refuse_unknown_keys();

 private:
  const toml::table* table_ = nullptr;
  std::string name_, file_;
  Errors* mistakes_;
  std::set<std::string, std::less<>> known_;
};

}  // namespace hakea::service
