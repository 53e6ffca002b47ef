// The tables of config/ as they were when the program was built.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "core/base/result.h"
#include "service/input/json.h"

namespace hakea::service {

// The text of a table by its path in config/ ("fuels.toml", "demo/story.csv"); empty when there is none.
std::string_view built_in_table(std::string_view path);

// `parse` takes a text and the name to call it by in messages, and answers with a Result of the table.
template <class Parse>
auto parsed_built_in(std::string_view path, Parse parse) {
  auto parsed = parse(built_in_table(path), "built in");
  HAKEA_EXPECT(static_cast<bool>(parsed));
  return *std::move(parsed);
}

// The table in a file of this name in the folder, or the built-in one where the folder has none.
template <class Parse, class BuiltIn>
auto table_of_folder(const std::string& folder, std::string_view name, Parse parse, BuiltIn built_in)
    -> decltype(parse(std::string_view(), folder)) {
  const std::string path = (std::filesystem::path(folder) / name).string();
  if (!std::filesystem::exists(path)) return built_in();
  const auto text = read_text_file(path);
  if (!text) return text.errors();
  return parse(*text, path);
}

}  // namespace hakea::service
