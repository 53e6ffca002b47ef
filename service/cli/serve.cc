// `hakea serve` and `hakea demo`: the service, for a district and for trying out.
#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include "service/app/demo.h"
#include "service/app/service.h"
#include "service/base/log.h"
#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/engine/plan_solver.h"
#include "service/input/json.h"
#include "service/output/cautions.h"
#include "service/output/time_text.h"
#include "service/tell/digest.h"
#include "service/tell/said.h"

namespace hakea::service {
namespace {

// Without a token nobody is answered: said once, with what to do.
void say_if_no_token(Store& store, const std::string& config_path) {
  const auto tokens = store.tokens();
  if (tokens && tokens->empty())
    spdlog::warn(
        "No token exists, so nobody can read or enter anything. Make one: hakea token create "
        "--config {} --name NAME --role operator",
        config_path);
}

// The digest of the demo's district as it would be read out now.
Result<std::string> demo_digest(Service& service) {
  const auto snapshot = service.engine().snapshot();
  const auto district = snapshot->districts.find(kDemoDistrict);
  if (district == snapshot->districts.end())
    return Error{ErrorKind::failed, "no_district", std::string(kDemoDistrict), "the district is not in the data folder",
                 "begin with another data folder"};
  const auto digest = digest_now(service.store(), *snapshot, district->second, district->second.zone->date(snapshot->now),
                                 [](const core::Program& p) { return solve_program(p); });
  if (!digest) return digest.errors();
  return digest_text(*digest);
}

}  // namespace

int run_serve(const Arguments& call) {
  if (!call.has("--config"))
    return refused(
        {wrong_call("", "serve needs --config FILE", "config/service.toml shows what may stand there; `hakea demo` needs none")});
  const std::string path = call.one("--config");
  auto config = read_config(path);
  if (!config) return refused(config.errors());
  Service::Settings settings;
  if (call.has("--now")) {
    const auto now = parse_instant(call.one("--now"));
    if (!now) return refused(now.errors(), "--now");
    settings.now = *now;
  }
  settings.config = *std::move(config);
  settings.config_path = path;

  take_signals();
  start_log(LogLines::json);
  auto service = Service::start(std::move(settings));
  if (!service) return failed(service.errors());
  say_if_no_token((*service)->store(), path);
  const std::string address = (*service)->settings().config.server.address;
  const auto served = (*service)->serve([&](int port) { spdlog::info("Listening on {} port {}", address, port); });
  return served ? kDone : failed(served.errors());
}

int run_demo(const Arguments& call) {
  const auto port = parse_whole_number(call.one("--port", "8080"), 0, 65535);
  if (!port)
    return refused(
        {wrong_call("--port", fmt::format("\"{}\" is no port", call.one("--port")), "write a number from 0 to 65535")});
  take_signals();
  start_log(LogLines::plain);
  spdlog::info("{} It listens on 127.0.0.1 only, and every caller there acts as coordinator.", kFictional);
  auto started = Service::start(demo_settings(call.one("--data", "hakea-demo"), *port));
  if (!started) return failed(started.errors());
  Service& service = **started;
  if (const auto done = service.catch_up(); !done) return failed(done.errors());
  if (call.has("--once")) {
    const auto digest = demo_digest(service);
    if (!digest) return failed(digest.errors());
    fmt::print("{}", *digest);
    return kDone;
  }
  const auto served = service.serve([&](int listening) {
    spdlog::info(
        "The demo's clock stands at {0} and runs.\nListening on http://127.0.0.1:{1}/ (the page) and "
        "http://127.0.0.1:{1}/api/v1/digest",
        utc_text(service.clock().now()), listening);
  });
  return served ? kDone : failed(served.errors());
}

}  // namespace hakea::service
