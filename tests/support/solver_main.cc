// main() of tests that solve plans in the child, and may read files in one: it is this program started again.
#include <gtest/gtest.h>
#include <signal.h>
#include <unistd.h>

#include <cstdlib>
#include <string>

#include "ingest/arrival/child.h"
#include "ingest/arrival/reader_process.h"
#include "ingest/arrival/wire.h"
#include "service/engine/plan_solver.h"

namespace {

// What is wrong with the solver, as HAKEA_TEST_SOLVER says: it ends, crashes, says nothing, or answers what no solver would.
void let_something_happen() {
  const char* wrong = std::getenv("HAKEA_TEST_SOLVER");
  const std::string what = wrong ? wrong : "";
  if (what == "ends") std::_Exit(9);
  if (what == "crashes") {
    signal(SIGSEGV, SIG_DFL);  // sanitizers would catch it
    raise(SIGSEGV);
  }
  if (what == "is killed") raise(SIGKILL);
  if (what == "hangs") {
    hakea::ingest::bound_myself({100, 1000});  // ends with its parent
    pause();
  }
  if (what == "babbles") {
    hakea::ingest::send(7, "nothing of the kind");
    std::_Exit(0);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 1 && std::string(argv[1]) == hakea::service::kSolverCommand) {
    let_something_happen();
    return hakea::service::solver_main();
  }
  if (argc > 1 && std::string(argv[1]) == "read-run") return hakea::ingest::reader_main();
  testing::InitGoogleTest(&argc, argv);
  return RUN_ALL_TESTS();
}
