#include "service/app/service.h"

#include <fmt/format.h>
#include <signal.h>
#include <spdlog/spdlog.h>

#include "service/app/notify.h"
#include "service/base/log.h"
#include "service/engine/plan_solver.h"
#include "service/output/time_text.h"
#include "service/tell/said.h"

namespace hakea::service {
namespace {

constexpr int kSecondsToFinish = 10;
constexpr int kTickSeconds = 5;
constexpr std::chrono::days kFurthestMove{31};
// The manager's watchdog is fed while the engine's thread comes by; one that stands still for so many ticks is stuck. A
// whole cycle for many units is evaluated in far less.
constexpr int kTicksUntilStuck = 15 * 60 / kTickSeconds;

sigset_t signals() {
  sigset_t set;
  sigemptyset(&set);
  for (const int signal : {SIGTERM, SIGINT, SIGHUP}) sigaddset(&set, signal);
  return set;
}

// What was asked for is logged where it changed something or went wrong; never headers, which hold tokens.
Response answered(const ApiParts& parts, const Request& request) {
  Response response = respond(parts, request);
  const bool is_reading = request.method == "GET" || request.method == "HEAD";
  if (response.status >= 500)
    spdlog::error("{} {} {} {}", response.status, request.method, request.path, request.request_id);
  else if (!is_reading && !parts.is_demo)
    spdlog::info("{} {} {} {}", response.status, request.method, request.path, request.request_id);
  return response;
}

}  // namespace

void take_signals() {
  const sigset_t set = signals();
  pthread_sigmask(SIG_BLOCK, &set, nullptr);
  ::signal(SIGPIPE, SIG_IGN);  // a caller that went away is an error of one write
}

Result<std::unique_ptr<Service>> Service::start(Settings settings) {
  std::unique_ptr<Service> service(new Service(std::move(settings)));
  const Settings& s = service->settings_;
  if (s.now) service->clock_.set(*s.now);
  auto store = Store::open(s.config.data, service->clock_.now());
  if (!store) return store.errors();
  service->store_ = *std::move(store);
  if (s.prepare)
    if (const auto prepared = s.prepare(*service->store_, service->clock_); !prepared) return prepared.errors();
  auto engine = Engine::start(service->settings_.config, *service->store_, service->clock_,
                              {.is_demo = s.is_demo, .before_look = s.before_look});
  if (!engine) return engine.errors();
  service->engine_ = *std::move(engine);
  return service;
}

Service::~Service() {
  server_.reset();  // callers first, then what answers them
  engine_.reset();
}

Result<bool> Service::catch_up() {
  const auto done = engine_->catch_up();
  keep_what_was_said();
  return done;
}

Result<bool> Service::move_clock(UtcTime to) {
  {
    const std::lock_guard lock(moving_);
    const UtcTime now = clock_.now();
    if (to < now)
      return Error{ErrorKind::invalid, "backwards", "/to", fmt::format("{} is before {}", utc_text(to), utc_text(now)),
                   "the clock only moves forward; for an earlier time begin with another data folder"};
    if (to > now + kFurthestMove)
      return Error{ErrorKind::invalid, "out_of_range", "/to", fmt::format("{} is more than a month ahead", utc_text(to)),
                   "move by a month at most, again and again if need be"};
    // Kept first: a later start must not stand before runs that were released, or they would lie in its future.
    if (settings_.keep_time)
      if (const auto kept = settings_.keep_time(*store_, to); !kept) return kept.errors();
    clock_.set(to);
  }
  return catch_up();
}

Result<bool> Service::serve(const std::function<void(int port)>& listening) {
  const ApiParts parts{
      .engine = engine_.get(),
      .store = store_.get(),
      .clock = &clock_,
      .config = &settings_.config,
      .is_demo = settings_.is_demo,
      .solver = [](const core::Program& program) { return solve_program(program); },
      .move_clock = settings_.is_demo ? [this](UtcTime to) { return move_clock(to); } : std::function<Result<bool>(UtcTime)>()};
  auto server = Server::start(
      settings_.config.server, [parts](const Request& request) { return answered(parts, request); }, takes_long);
  if (!server) return server.errors();
  server_ = *std::move(server);
  listening(server_->port());
  notify_manager("READY=1\nSTATUS=Answering requests");
  wait_for_the_end();
  notify_manager("STOPPING=1\nSTATUS=Finishing requests");
  server_->stop(kSecondsToFinish);
  keep_time();
  return true;
}

void Service::wait_for_the_end() {
  const sigset_t set = signals();
  std::uint64_t beat = engine_->heartbeat();
  for (int ticks_without_beat = 0;;) {
    const timespec pause{.tv_sec = kTickSeconds, .tv_nsec = 0};
    const int signal = sigtimedwait(&set, nullptr, &pause);
    if (signal == SIGTERM || signal == SIGINT) {
      spdlog::info("Ending, as told by {}", signal == SIGTERM ? "SIGTERM" : "SIGINT");
      return;
    }
    if (signal == SIGHUP) spdlog::info("The configuration is read at the start only; start again for a changed one");
    keep_what_was_said();
    keep_time();
    const std::uint64_t newest = engine_->heartbeat();
    ticks_without_beat = newest == beat ? ticks_without_beat + 1 : 0;
    beat = newest;
    if (ticks_without_beat < kTicksUntilStuck) notify_manager("WATCHDOG=1");
  }
}

void Service::keep_time() {
  if (!settings_.keep_time) return;
  const std::lock_guard lock(moving_);
  if (const auto kept = settings_.keep_time(*store_, clock_.now()); !kept)
    log_errors("the clock's time could not be kept", kept.errors());
}

void Service::keep_what_was_said() {
  const auto snapshot = engine_->snapshot();
  if (!snapshot) return;
  for (const auto& [id, district] : snapshot->districts)
    if (const auto kept = keep_said(*store_, *snapshot, district, clock_.now()); !kept)
      log_errors("what the digest of " + id + " says could not be kept", kept.errors());
}

}  // namespace hakea::service
