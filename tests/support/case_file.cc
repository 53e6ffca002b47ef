#include "tests/support/case_file.h"

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

std::vector<Case> read_cases(const std::string& path) {
  std::ifstream in(path);
  if (!in) throw std::runtime_error("cannot read " + path);
  std::vector<Case> cases;
  std::string line;
  bool header_seen = false;
  for (int number = 1; std::getline(in, line); ++number) {
    if (line.empty() || line[0] == '#') continue;
    if (!header_seen) {
      if (line != "formula,inputs,expected,tolerance,source,note")
        throw std::runtime_error(path + ": unexpected header: " + line);
      header_seen = true;
      continue;
    }
    auto fields = split_csv(line);
    if (fields.size() != 6)
      throw std::runtime_error(path + ":" + std::to_string(number) + ": expected 6 columns, found " +
                               std::to_string(fields.size()));
    Case c{.file = std::filesystem::path(path).filename().string(),
           .line = number,
           .formula = fields[0],
           .inputs = {},
           .expected = fields[2],
           .tolerance = fields[3],
           .source = fields[4],
           .note = fields[5]};
    std::istringstream words(fields[1]);
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
