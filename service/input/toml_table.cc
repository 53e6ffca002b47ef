#include "service/input/toml_table.h"

#include <fmt/format.h>

#include <cmath>

#include "core/base/nearest.h"

namespace hakea::service {

Result<toml::table> parse_toml(std::string_view text, const std::string& name) {
  try {
    return toml::parse(text, name);
  } catch (const toml::parse_error& failed) {
    return Error{
        ErrorKind::invalid, "not_toml", name,
        fmt::format("line {}, column {}: {}", failed.source().begin.line, failed.source().begin.column, failed.description()),
        "write TOML 1.0"};
  }
}

TomlTable::TomlTable(const toml::node& node, std::string name, std::string file, Errors& mistakes)
    : table_(node.as_table()), name_(std::move(name)), file_(std::move(file)), mistakes_(&mistakes) {
  if (!table_)
    mistakes.push_back({ErrorKind::invalid, "wrong_kind", fmt::format("{}: {}", file_, name_),
                        fmt::format("{} is not a table", name_), fmt::format("write [{}] and its keys below", name_)});
}

const toml::node* TomlTable::find(std::string_view key) {
  if (!known_.contains(key)) known_.emplace(key);
  return table_ ? table_->get(key) : nullptr;
}

std::optional<double> TomlTable::number(std::string_view key) {
  const toml::node* node = find(key);
  if (!node) return std::nullopt;
  if (node->is_number()) return node->value<double>();
  refuse(key, "wrong_kind", fmt::format("{} is not a number", key), "write a number");
  return std::nullopt;
}

std::optional<std::int64_t> TomlTable::whole_number(std::string_view key, std::int64_t lowest, std::int64_t highest) {
  const auto found = number(key);
  if (!found) return std::nullopt;
  if (*found >= static_cast<double>(lowest) && *found <= static_cast<double>(highest) && *found == std::floor(*found))
    return static_cast<std::int64_t>(*found);
  refuse(key, "out_of_range", fmt::format("{} is {}", key, *found),
         fmt::format("write a whole number from {} to {}", lowest, highest));
  return std::nullopt;
}

std::optional<bool> TomlTable::yes_or_no(std::string_view key) {
  const toml::node* node = find(key);
  if (!node) return std::nullopt;
  if (node->is_boolean()) return node->value<bool>();
  refuse(key, "wrong_kind", fmt::format("{} is not true or false", key), "write true or false");
  return std::nullopt;
}

std::optional<std::string> TomlTable::text(std::string_view key) {
  const toml::node* node = find(key);
  if (!node) return std::nullopt;
  if (node->is_string()) return node->value<std::string>();
  refuse(key, "wrong_kind", fmt::format("{} is not a text", key), "write a text in quotes");
  return std::nullopt;
}

std::vector<std::string> TomlTable::texts(std::string_view key) {
  const toml::node* node = find(key);
  const toml::array* list = node ? node->as_array() : nullptr;
  std::vector<std::string> texts;
  for (std::size_t i = 0; list && i < list->size(); ++i)
    if (const auto text = (*list)[i].value_exact<std::string>()) texts.push_back(*text);
  if (node && (!list || texts.size() != list->size()))
    refuse(key, "wrong_kind", fmt::format("{} is not a list of texts", key), R"(write a list such as ["a", "b"])");
  return texts;
}

std::optional<std::size_t> TomlTable::word(std::string_view key, std::span<const std::string_view> known) {
  const auto found = text(key);
  if (!found) return std::nullopt;
  for (std::size_t i = 0; i < known.size(); ++i)
    if (known[i] == *found) return i;
  refuse(key, "unknown_word", fmt::format("{} \"{}\" is not known", key, *found),
         fmt::format("write one of {}", fmt::join(known, ", ")));
  return std::nullopt;
}

void TomlTable::refuse(std::string_view key, std::string code, std::string what, std::string hint) {
  const toml::node* node = table_ ? table_->get(key) : nullptr;
  const std::string line = node ? fmt::format(", line {}", node->source().begin.line) : "";
  mistakes_->push_back({ErrorKind::invalid, std::move(code),
                        fmt::format("{}{}: {}{}{}", file_, line, name_, name_.empty() ? "" : ".", key), std::move(what),
                        std::move(hint)});
}

void TomlTable::refuse_unknown_keys() {
  if (!table_) return;
  for (const auto& [key, node] : *table_) {
    if (known_.contains(key.str())) continue;
    const std::string_view near = nearest(key.str(), known_);
    refuse(key.str(), "unknown_key", fmt::format("the key \"{}\" is not known", key.str()),
           near.empty() ? fmt::format("leave it out; known here: {}", fmt::join(known_, ", "))
                        : fmt::format("did you mean \"{}\"?", near));
  }
}

}  // namespace hakea::service
