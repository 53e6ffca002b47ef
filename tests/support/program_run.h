// The built program, called as a user calls it.
#pragma once

#include <sys/wait.h>

#include <cstdlib>
#include <filesystem>
#include <string>

#include "tests/support/file_bytes.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {

struct Outcome {
  int code = -1;
  std::string out, err;
};

// Runs `program words` with its output kept in `folder`.
inline Outcome run_program(const std::string& program, const std::string& words, const TempDir& folder) {
  const auto out = folder.path() / "out", err = folder.path() / "err";
  const int status = std::system(("'" + program + "' " + words + " >'" + out.string() + "' 2>'" + err.string() + "'").c_str());
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, file_bytes(out), file_bytes(err)};
}

}  // namespace hakea::test
