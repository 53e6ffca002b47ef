// A scripted life of a store, and what must hold when the disk under it fails at one place of it: every call that returned
// success is there whole, every call that failed had no effect, and the store said so.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "service/store/store.h"
#include "tests/support/faulty_disk.h"

namespace hakea::test {

// Returns the store's answer. What a step does follows from what the store holds and from nothing else, so that a healthy
// store that is led through the steps which succeeded must come to hold the same.
struct Step {
  std::string name;
  std::function<Result<bool>(service::Store& store)> act;
};
using Script = std::vector<Step>;

Script a_day();            // each kind of write once or twice
Script a_month(int days);  // days with larger runs, retention, so that logs are checkpointed on the way

// All that a store answers, as text.
std::string picture_of(service::Store& store);

// Leads a store through the script with the disk failing at the first operation, at the `stride + 1`st and so on until it
// does not fail any more, and expects the above: of the folder as it stood right after the failure (killed), and of the
// store closed and opened again. Returns how many places were tried.
int expect_nothing_lost(const Script& script, Fault fault, int stride = 1);

}  // namespace hakea::test
