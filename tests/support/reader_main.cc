// main() of tests that read files in the child: it is this program started again.
#include <gtest/gtest.h>

#include <string>

#include "ingest/arrival/reader_process.h"

int main(int argc, char** argv) {
  if (argc > 1 && std::string(argv[1]) == "read-run") return hakea::ingest::reader_main(argc, argv);
  testing::InitGoogleTest(&argc, argv);
  return RUN_ALL_TESTS();
}
