#include "tests/support/case_file.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <stdexcept>

namespace hakea::test {

double Case::operator[](const std::string& name) const { return std::stod(text(name)); }

std::string Case::text(const std::string& name) const {
  const auto found = inputs.find(name);
  if (found == inputs.end()) throw std::runtime_error(file + ":" + std::to_string(line) + ": input " + name + " is absent");
  return found->second;
}

std::vector<std::string> split_csv(const std::string& line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (quoted && c == '"' && i + 1 < line.size() && line[i + 1] == '"') {
      fields.back() += '"';
      ++i;
    } else if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      fields.emplace_back();
    } else if (c != '\r') {
      fields.back() += c;
    }
  }
  return fields;
}

namespace {

const std::vector<std::string> kColumns{"formula", "inputs", "expected", "tolerance", "source", "tag", "note"};

}  // namespace

std::vector<Case> read_cases(const std::string& path) {
  std::ifstream in(path);
  if (!in) throw std::runtime_error("cannot read " + path);
  std::vector<Case> cases;
  std::string line;
  std::vector<std::string> names;
  for (int number = 1; std::getline(in, line); ++number) {
    if (line.empty() || line[0] == '#') continue;
    const auto fields = split_csv(line);
    if (names.empty()) {
      names = fields;
      for (const std::string& name : kColumns)
        if (std::find(names.begin(), names.end(), name) == names.end())
          throw std::runtime_error(path + ": has no column " + name);
      continue;
    }
    if (fields.size() != names.size())
      throw std::runtime_error(path + ":" + std::to_string(number) + ": expected " + std::to_string(names.size()) +
                               " columns, found " + std::to_string(fields.size()));
    const auto field = [&](std::string_view name) {
      const auto found = std::find(names.begin(), names.end(), name);
      return found == names.end() ? std::string() : fields[static_cast<std::size_t>(found - names.begin())];
    };
    Case c{.file = std::filesystem::path(path).filename().string(),
           .line = number,
           .formula = field("formula"),
           .inputs = {},
           .expected = field("expected"),
           .tolerance = field("tolerance"),
           .source = field("source"),
           .tag = field("tag"),
           .note = field("note")};
    std::istringstream words(field("inputs"));
    for (std::string word; words >> word;) {
      const auto equals = word.find('=');
      if (equals == std::string::npos)
        throw std::runtime_error(path + ":" + std::to_string(number) + ": not name=value: " + word);
      c.inputs[word.substr(0, equals)] = word.substr(equals + 1);
    }
    cases.push_back(std::move(c));
  }
  return cases;
}

std::string tests_folder() { return HAKEA_TESTS_FOLDER; }

std::string shared_folder() {
  const auto folder = std::filesystem::path(HAKEA_TESTS_FOLDER).parent_path().parent_path() / "shared";
  return std::filesystem::is_directory(folder) ? folder.string() : std::string();
}

}  // namespace hakea::test
