// The demo's service for a load generator, without a limit on how often one caller may ask: what tests/bench/serve.py measures.
//
//   bench_serve DATA_FOLDER     prints its port and serves until SIGTERM
#include <fmt/format.h>

#include <cstdio>
#include <string>

#include "ingest/arrival/reader_process.h"
#include "service/app/demo.h"
#include "service/app/service.h"
#include "service/engine/plan_solver.h"

namespace {

int failed(const hakea::Errors& errors) {
  for (const hakea::Error& error : errors) fmt::print(stderr, "{}: {}\n", error.where, error.what);
  return 1;
}

}  // namespace

int main(int argc, char** argv) {
  using namespace hakea::service;
  const std::string word = argc > 1 ? argv[1] : "";
  if (word == "read-run") return hakea::ingest::reader_main(argc, argv);
  if (word == kSolverCommand) return solver_main();
  if (argc != 2) {
    fmt::print(stderr, "bench_serve DATA_FOLDER\n");
    return 2;
  }
  take_signals();
  Service::Settings settings = demo_settings(word, 0);
  settings.config.api.requests = 0;
  settings.config.server.connections_per_address = settings.config.server.connections;
  auto service = Service::start(std::move(settings));
  if (!service) return failed(service.errors());
  const auto served = (*service)->serve([](int port) {
    fmt::print("{}\n", port);
    std::fflush(stdout);
  });
  return served ? 0 : failed(served.errors());
}
