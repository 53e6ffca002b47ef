#include "service/app/service.h"

#include <fmt/format.h>
#include <signal.h>
#include <spdlog/spdlog.h>

#include "service/access/key_fetch.h"
#include "service/access/secret.h"
#include "service/app/notify.h"
#include "service/base/log.h"
#include "service/engine/plan_solver.h"
#include "service/input/json.h"
#include "service/output/time_text.h"
#include "service/tell/said.h"

namespace hakea::service {
namespace {

constexpr int kSecondsToFinish = 10;
constexpr std::chrono::days kFurthestMove{31};
constexpr double kProbeEveryS = 10;
constexpr std::string_view kProbeNote = "readyz";

sigset_t signals() {
  sigset_t set;
  sigemptyset(&set);
  for (const int signal : {SIGTERM, SIGINT, SIGHUP}) sigaddset(&set, signal);
  return set;
}

// What was asked for is logged where it changed something, went wrong or was refused to somebody: by its route, never its path,
// and never headers, which hold tokens.
void log_answer(const Request& request, const CallNote& note, int status, double seconds, bool is_demo) {
  const bool is_reading = request.method == "GET" || request.method == "HEAD" || request.method == "OPTIONS";
  const bool is_refusal = status == 401 || status == 403 || status == 429;
  if (status < 500 && (is_demo || (is_reading && !is_refusal))) return;
  const std::string_view route = note.route.empty() ? "unknown" : note.route;
  const LogContext context({{"route", route},
                            {"status", static_cast<long long>(status)},
                            {"ms", static_cast<long long>(seconds * 1000)},
                            {"actor", note.actor}});
  const std::string line = without_secrets(fmt::format("{} {} {}", status, request.method, route));
  if (status >= 500)
    spdlog::error(line);
  else
    spdlog::info(line);
}

// What cannot be changed while callers are served; empty where all can.
std::string takes_a_restart(const Config& now, const Config& next) {
  std::vector<std::string_view> what;
  if (now.data != next.data) what.push_back("service.data");
  if (now.server != next.server) what.push_back("where and how service listens");
  if (now.admin != next.admin) what.push_back("where health and metrics are asked for");
  if (now.alerts != next.alerts || now.deliver != next.deliver || now.access.origin != next.access.origin)
    what.push_back("how alerts are told");
  return fmt::format("{}", fmt::join(what, ", "));
}

std::shared_ptr<Oidc> oidc_of(const Config& config) {
  if (!config.access.oidc) return nullptr;
  const std::string place = config.access.oidc->keys;
  return std::make_shared<Oidc>(*config.access.oidc, [place] { return fetch_keys(place); });
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
  auto alerts =
      Alerts::start(*service->store_, s.config.alerts, [](const core::Program& program) { return solve_program(program); });
  if (!alerts) return alerts.errors();
  service->alerts_ = *std::move(alerts);
  service->calendars_ = std::make_unique<Calendars>(*service->store_);
  service->config_ = service->engine_config_ = std::make_shared<const Config>(s.config);
  auto engine = service->start_engine(*service->engine_config_);
  if (!engine) return engine.errors();
  service->engine_ = *std::move(engine);
  return service;
}

Result<std::unique_ptr<Engine>> Service::start_engine(const Config& config) {
  alerts_->begin_again();  // pictures are counted anew
  calendars_->begin_again();
  return Engine::start(config, *store_, clock_,
                       {.is_demo = settings_.is_demo,
                        .before_look = settings_.before_look,
                        .published = [this](std::shared_ptr<const Snapshot> picture) { tell(std::move(picture)); }});
}

Service::~Service() {
  admin_.reset();
  server_.reset();  // callers first, then what answers them
  courier_.reset();
  engine_.reset();
}

Result<bool> Service::catch_up() {
  const auto done = engine_->catch_up();
  tell(engine_->snapshot());
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
  parts_ = ApiParts{
      .engine = engine_.get(),
      .store = store_.get(),
      .clock = &clock_,
      .config = config_.get(),
      .is_demo = settings_.is_demo,
      .solver = [](const core::Program& program) { return solve_program(program); },
      .move_clock = settings_.is_demo ? [this](UtcTime to) { return move_clock(to); } : std::function<Result<bool>(UtcTime)>(),
      .oidc = oidc_of(*config_)};
  auto server =
      Server::start(settings_.config.server, {.respond = [this](const Request& request) { return answer(request); },
                                              .takes_long = takes_long,
                                              .at_once = [this](const Request& request) { return answer_at_once(request); }});
  if (!server) return server.errors();
  server_ = *std::move(server);
  start_admin();
  auto counted = [this, send = sender(config_->deliver, config_->access.origin)](const Courier::Parcel& parcel) {
    Attempt attempt = send(parcel);
    metrics_.sent(word(parcel.to.channel), attempt.is_delivered);
    return attempt;
  };
  auto courier = Courier::start(*store_, clock_, std::move(counted));
  if (!courier) return courier.errors();
  courier_ = *std::move(courier);
  listening(server_->port());
  notify_manager("READY=1\nSTATUS=Answering requests");
  wait_for_the_end();
  notify_manager("STOPPING=1\nSTATUS=Finishing requests");
  courier_.reset();
  server_->stop(kSecondsToFinish);
  keep_time();
  return true;
}

// Without it the service still does its work, so a port that is taken keeps nobody from it.
void Service::start_admin() {
  AdminParts parts{.is_alive = [this] { return liveness_.is_alive(); },
                   .readiness =
                       [this] {
                         const Gate::Pass pass(gate_);
                         return readiness_of(*engine_, is_writable());
                       },
                   .metrics =
                       [this] {
                         const Gate::Pass pass(gate_);
                         const bool can_write = is_writable();
                         std::optional<UtcTime> backup;
                         if (const auto noted = store_->note(kBackupNote); noted && *noted)
                           if (const auto at = parse_instant(**noted)) backup = *at;
                         const auto outbox = store_->alerts()->outbox();
                         return metrics_.text({.picture = engine_->snapshot(),
                                               .now = clock_.now(),
                                               .data = config_->data,
                                               .last_backup = backup,
                                               .is_ready = readiness_of(*engine_, can_write).is_ready(),
                                               .streams = server_ ? server_->streams() : 0,
                                               .outbox = outbox ? *outbox : Backlog()});
                       }};
  auto admin = Server::start(config_->admin, {[parts](const Request& request) { return respond_as_admin(parts, request); }});
  if (admin) {
    admin_ = *std::move(admin);
    spdlog::info("Health and metrics at {} port {}", config_->admin.address, admin_->port());
  } else {
    log_errors("health and metrics are not served", admin.errors());
  }
}

Response Service::answer(const Request& request) {
  const Stopwatch watch;
  const Gate::Pass pass(gate_);
  const LogContext context({{"request_id", request.request_id}});
  CallNote note;
  Response response = respond(parts_, request, &note);
  const double seconds = watch.seconds();
  metrics_.answered(note.route, request.method, response.status, seconds);
  log_answer(request, note, response.status, seconds, settings_.is_demo);
  return response;
}

std::optional<Response> Service::answer_at_once(const Request& request) {
  const Stopwatch watch;
  const Gate::Pass pass(gate_, std::try_to_lock);
  if (!pass.is_through()) return std::nullopt;
  CallNote note;
  auto response = respond_at_once(parts_, request, &note);
  if (response) metrics_.answered(note.route, request.method, response->status, watch.seconds());
  return response;
}

// A write that comes back from the disk, tried now and then.
bool Service::is_writable() {
  const std::lock_guard lock(probing_);
  if (probed_ && probed_->seconds() < kProbeEveryS) return could_write_;
  could_write_ = bool(store_->set_note(kProbeNote, utc_text(clock_.now())));
  probed_.emplace();
  return could_write_;
}

void Service::wait_for_the_end() {
  const sigset_t set = signals();
  for (;;) {
    const timespec pause{.tv_sec = kTickSeconds, .tv_nsec = 0};
    const int signal = sigtimedwait(&set, nullptr, &pause);
    if (signal == SIGTERM || signal == SIGINT) {
      spdlog::info("Ending, as told by {}", signal == SIGTERM ? "SIGTERM" : "SIGINT");
      return;
    }
    is_reload_wanted_ = is_reload_wanted_ || signal == SIGHUP;
    // What reads a run is not broken off for it.
    if (is_reload_wanted_ && !engine_->progress()) {
      is_reload_wanted_ = false;
      reload();
    }
    if (signal == SIGHUP) continue;  // no whole tick has passed
    tell(engine_->snapshot());
    keep_what_was_said();
    keep_time();
    metrics_.see(*engine_->snapshot());
    if (liveness_.tick(server_->heartbeat(), engine_->heartbeat())) notify_manager("WATCHDOG=1");
  }
}

void Service::reload() {
  if (settings_.config_path.empty()) {
    spdlog::info("There is no configuration to read again");
    return;
  }
  notify_manager("RELOADING=1\nSTATUS=Reading the configuration again");
  auto next = read_config(settings_.config_path);
  const auto taken = next ? take(std::make_shared<const Config>(*std::move(next))) : Result<bool>(next.errors());
  const Actor manager{.name = "service manager", .token_id = "", .address = "", .request_id = "", .role = Role::operator_};
  if (const auto noted = store_->add_audit(manager, clock_.now(), taken ? "reload" : "refuse_reload", "configuration",
                                           taken ? "" : taken.error().what);
      !noted)
    log_errors("the audit of a reload", noted.errors());
  // Said after it stands in the audit: who reads that then finds it there.
  if (taken)
    spdlog::info("The configuration was read again and is in force");
  else
    log_errors("the configuration in force stays", taken.errors());
  notify_manager("READY=1\nSTATUS=Answering requests\nWATCHDOG=1");
}

Result<bool> Service::take(std::shared_ptr<const Config> next) {
  if (const std::string what = takes_a_restart(*config_, *next); !what.empty())
    return Error{ErrorKind::invalid, "takes_a_restart", settings_.config_path, fmt::format("it changes {}", what),
                 "nothing of it was taken; start the service again, or change that back"};
  const Gate::Closed closed(gate_);
  if (next->judged_by != engine_config_->judged_by) {
    // Two engines would both read and publish: the old one ends first, and comes back where the new one cannot begin.
    engine_.reset();
    auto engine = start_engine(*next);
    const Errors failed = engine ? Errors() : engine.errors();
    if (engine)
      engine_config_ = next;
    else
      engine = start_engine(*engine_config_);
    HAKEA_EXPECT(bool(engine));  // it began with this before; the manager starts us again
    engine_ = *std::move(engine);
    parts_.engine = engine_.get();
    // They are of pictures of the engine that ended.
    parts_.plans = std::make_shared<KnownPlans>();
    parts_.answers = std::make_shared<KnownAnswers>();
    parts_.grid_points = std::make_shared<GridPoints>();
    if (!failed.empty()) return failed;
  }
  config_ = std::move(next);
  parts_.config = config_.get();
  parts_.oidc = oidc_of(*config_);
  parts_.callers->forget();
  return true;
}

// What could not be written now is decided again at the next tick.
void Service::tell(std::shared_ptr<const Snapshot> picture) {
  if (const auto kept = calendars_->look(picture); !kept) log_errors("calendars could not be written", kept.errors());
  if (const auto told = alerts_->look(std::move(picture), clock_.now()); !told)
    log_errors("alerts could not be written", told.errors());
  if (courier_) courier_->wake();
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
