// Published cases as text: tests/cases/<family>.csv with the columns
//   formula, inputs, expected, tolerance, source, tag, note
// `inputs` is name=value pairs separated by blanks (values are numbers or words); `tolerance` is absolute, or relative when
// it ends in r; `expected` is a number, "missing" or a word. `tag` says how the value came here: seen in the source,
// from memory of it, or derived (worked out by a script from the published formula, so that it checks our arithmetic only).
// Lines that begin with # are comments. A row without a source or tag is a failure.
#pragma once

#include <functional>
#include <map>
#include <ostream>
#include <string>
#include <vector>

namespace hakea::test {

struct Case {
  std::string file;
  int line = 0;
  std::string formula;
  std::map<std::string, std::string> inputs;
  std::string expected, tolerance, source, tag, note;

  double operator[](const std::string& name) const;  // a number; throws with file and line when absent
  std::string text(const std::string& name) const;
  bool has(const std::string& name) const { return inputs.contains(name); }
};
inline void PrintTo(const Case& c, std::ostream* out) { *out << c.file << ':' << c.line; }

// One formula under test: inputs to value (NaN = missing).
using Formula = std::function<double(const Case&)>;
using Formulas = std::map<std::string, Formula>;

std::vector<Case> read_cases(const std::string& path);
// Splits one line of CSV with RFC 4180 quotes.
std::vector<std::string> split_csv(const std::string& line);
// Folder of the source tree (…/tests), and of the shared weather files, empty where that folder is absent.
std::string tests_folder();
std::string shared_folder();

}  // namespace hakea::test
