// The table of real weather files, tests/ingest/feed_files.csv, and what was read from them by other means.
#pragma once

#include <algorithm>
#include <array>
#include <cctype>
#include <fstream>
#include <map>
#include <optional>
#include <ostream>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "ingest/feed.h"
#include "tests/support/case_file.h"

namespace hakea::test {

struct FeedFile {
  std::string file, expected, why, manifest, found, says;
  std::map<std::string, std::string> aliases;
  std::string time_unit;
  std::optional<ingest::StatedGrid> grid;

  // What the file turned out to be stands against what was expected.
  bool is_accepted() const { return (found.empty() ? expected : found).starts_with("accepted"); }
  bool is_data() const { return file.find("cdl/") == std::string::npos && why != "not a data file"; }
  ingest::Feed feed() const {
    ingest::Feed f;
    f.aliases = aliases;
    f.time_unit = time_unit;
    f.grid = grid;
    return f;
  }
};
inline void PrintTo(const FeedFile& row, std::ostream* out) { *out << row.file; }

inline std::vector<FeedFile> feed_files() {
  std::ifstream in(tests_folder() + "/ingest/feed_files.csv");
  std::vector<FeedFile> rows;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#' || line.starts_with("file,")) continue;
    const auto cells = split_csv(line);
    if (cells.size() != 7) throw std::runtime_error("feed_files.csv: seven columns are wanted in: " + line);
    FeedFile row{cells[0], cells[1], cells[3], cells[4], cells[5], cells[6], {}, {}, {}};
    for (std::size_t at = 0; at < cells[2].size();) {
      const std::size_t end = std::min(cells[2].find(';', at), cells[2].size()), equals = cells[2].find('=', at);
      const std::string name = cells[2].substr(at, equals - at), word = cells[2].substr(equals + 1, end - equals - 1);
      if (name == "time_unit") {
        row.time_unit = word;
      } else if (name == "grid") {
        std::istringstream in_order(word);
        std::array<std::string, 5> part;
        for (std::string& p : part) std::getline(in_order, p, '|');
        row.grid = {part[0], std::stod(part[1]), std::stod(part[2]), std::stod(part[3]), std::stod(part[4])};
      } else {
        row.aliases.emplace(name, word);
      }
      at = end + 1;
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

// One row of independent_reading.csv, which explains its columns.
struct IndependentValue {
  std::string what, latitude, longitude, name, time, value;
};

inline std::map<std::string, std::vector<IndependentValue>> independent_reading() {
  std::ifstream in(tests_folder() + "/ingest/independent_reading.csv");
  std::map<std::string, std::vector<IndependentValue>> by_file;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#' || line.starts_with("file,")) continue;
    const auto c = split_csv(line);
    if (c.size() != 7) throw std::runtime_error("independent_reading.csv: seven columns are wanted in: " + line);
    by_file[c[0]].push_back({c[1], c[2], c[3], c[4], c[5], c[6]});
  }
  return by_file;
}

// All that the reader takes, as it is or with the aliases of the table.
inline std::vector<FeedFile> feed_files_taken() {
  auto rows = feed_files();
  std::erase_if(rows, [](const FeedFile& r) { return !r.is_accepted() && r.aliases.empty(); });
  return rows;
}

// A name of a test: letters, digits and underscores.
inline std::string test_name(const std::string& file) {
  std::string name = file;
  for (char& c : name)
    if (!std::isalnum(static_cast<unsigned char>(c))) c = '_';
  return name;
}

}  // namespace hakea::test
