// The table of real weather files, tests/ingest/feed_files.csv.
#pragma once

#include <fstream>
#include <map>
#include <ostream>
#include <stdexcept>
#include <string>
#include <vector>

#include "ingest/feed.h"
#include "tests/support/case_file.h"

namespace hakea::test {

struct FeedFile {
  std::string file, expected, why, manifest, found, says;
  std::map<std::string, std::string> aliases;

  // What the file turned out to be stands against what was expected.
  bool is_accepted() const { return (found.empty() ? expected : found).starts_with("accepted"); }
  bool is_data() const { return file.find("cdl/") == std::string::npos && why != "not a data file"; }
  ingest::Feed feed() const {
    ingest::Feed f;
    f.aliases = aliases;
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
    FeedFile row{cells[0], cells[1], cells[3], cells[4], cells[5], cells[6], {}};
    for (std::size_t at = 0; at < cells[2].size();) {
      const std::size_t end = std::min(cells[2].find(';', at), cells[2].size()), equals = cells[2].find('=', at);
      row.aliases.emplace(cells[2].substr(at, equals - at), cells[2].substr(equals + 1, end - equals - 1));
      at = end + 1;
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace hakea::test
