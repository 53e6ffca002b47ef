// main() of tests that read files in the child: it is this program started again.
#include <gtest/gtest.h>
#include <stdlib.h>  // setenv

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "ingest/arrival/reader_process.h"

namespace {

// What goes wrong with the n-th reader from now. Where the file that HAKEA_TEST_READER names says "1 /folder/run.nc", run.nc is
// gone when the second one opens it; "0 end" ends the next; "0 full" leaves it no room for temporary files.
void let_something_happen() {
  const char* control = std::getenv("HAKEA_TEST_READER");
  int readers = 0;
  std::string path;
  if (!control || !(std::ifstream(control) >> readers >> path)) return;
  if (readers > 0) {
    std::ofstream(control) << readers - 1 << ' ' << path;
    return;
  }
  std::filesystem::remove(control);
  if (path == "end") std::_Exit(9);
  if (path == "full")
    ::setenv("TMPDIR", "/nowhere", 1);
  else
    std::filesystem::remove(path);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 1 && std::string(argv[1]) == "read-run") {
    let_something_happen();
    return hakea::ingest::reader_main();
  }
  testing::InitGoogleTest(&argc, argv);
  return RUN_ALL_TESTS();
}
