#include <cstdio>
#include <exception>
#include <string>
#include <vector>

#include "ingest/arrival/reader_process.h"
#include "service/cli/arguments.h"
#include "service/engine/plan_solver.h"

int main(int argc, char** argv) {
  // The program starts itself again to read files that may be damaged.
  if (argc > 1 && std::string(argv[1]) == "read-run") return hakea::ingest::reader_main();
  // … and to solve a plan.
  if (argc > 1 && std::string(argv[1]) == hakea::service::kSolverCommand) return hakea::service::solver_main();
  try {
    const int code = hakea::service::run_program({argv + 1, argv + argc});
    if (std::fflush(stdout) == 0) return code;
    hakea::service::complain({hakea::ErrorKind::failed, "write_failed", "standard output", "the answer could not be written",
                              "check the disk or the pipe"});
  } catch (const std::exception& failed) {
    hakea::service::complain(
        {hakea::ErrorKind::failed, "failed", "", failed.what(), "this should not happen; report it with the call"});
  }
  return hakea::service::kFailed;
}
