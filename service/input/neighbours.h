// Who lies beside whom: two units do, whichever of them says so.
#pragma once

#include <algorithm>
#include <map>
#include <string>
#include <vector>

#include "service/input/unit_json.h"

namespace hakea::service {

class Neighbours {
 public:
  void add(const Unit& unit) {
    for (const std::string& other : unit.adjacent) named_by_[other].push_back(unit.id);
  }
  // Those that the unit names, then those that name it.
  std::vector<std::string> of(const Unit& unit) const {
    std::vector<std::string> all = unit.adjacent;
    if (const auto others = named_by_.find(unit.id); others != named_by_.end())
      for (const std::string& other : others->second)
        if (std::find(all.begin(), all.end(), other) == all.end()) all.push_back(other);
    return all;
  }

 private:
  std::map<std::string, std::vector<std::string>, std::less<>> named_by_;
};

}  // namespace hakea::service
