// What a result holds, or the end of the test with all its errors.
#pragma once

#include <stdexcept>
#include <string>

#include "core/base/result.h"

namespace hakea::test {

template <class T>
T must(Result<T> result) {
  if (result) return *std::move(result);
  std::string all;
  for (const Error& e : result.errors()) all += e.where + ": " + e.code + ": " + e.what + "\n";
  throw std::runtime_error(all);
}

}  // namespace hakea::test
