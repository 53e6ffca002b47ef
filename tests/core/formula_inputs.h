// Lists inside case inputs: numbers separated by semicolons.
#pragma once

#include <sstream>
#include <vector>

#include "tests/support/case_file.h"

namespace hakea::test {

inline std::vector<double> numbers(const Case& c, const std::string& name) {
  std::vector<double> list;
  std::istringstream words(c.text(name));
  for (std::string word; std::getline(words, word, ';');) list.push_back(std::stod(word));
  return list;
}

}  // namespace hakea::test
