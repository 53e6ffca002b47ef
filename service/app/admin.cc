#include "service/app/admin.h"

#include <algorithm>

#include "service/app/metrics.h"
#include "service/http/problem.h"
#include "service/output/json_writer.h"

namespace hakea::service {
namespace {

Response plain(int status, std::string text) { return {status, "text/plain; charset=utf-8", std::move(text), {}}; }

Response ready(const Readiness& readiness) {
  JsonWriter out;
  out.begin_object().yes_or_no("ready", readiness.is_ready()).key("checks").begin_object();
  out.text("schema", "migrated").text("database", readiness.is_writable ? "writable" : "not writable");
  out.text("first_run", readiness.first_run).end_object().end_object();
  return {readiness.is_ready() ? 200 : 503, "application/json", out.str(), {}};
}

}  // namespace

Readiness readiness_of(const Engine& engine, bool is_writable) {
  const auto picture = engine.snapshot();
  Readiness readiness;
  readiness.is_writable = is_writable;
  const bool has_run = picture && std::any_of(picture->feeds.begin(), picture->feeds.end(),
                                              [](const FeedView& f) { return bool(f.newest_complete); });
  if (has_run)
    readiness.first_run = "loaded";
  else if (engine.progress())
    readiness.first_run = "loading";
  else if (engine.heartbeat() > 0 || (picture && picture->feeds.empty()))
    readiness.first_run = "nothing to load";
  else
    readiness.first_run = Readiness::kNotYet;
  return readiness;
}

Response respond_as_admin(const AdminParts& parts, const Request& request) {
  Response answer;
  if (request.method != "GET" && request.method != "HEAD") {
    answer =
        problem_response({405, "method", "This path does not take that method", "it takes GET, HEAD", {}}, request.request_id);
    answer.headers.emplace_back("Allow", "GET, HEAD");
  } else if (request.path == "/livez") {
    answer = parts.is_alive() ? plain(200, "alive\n") : plain(503, "stuck\n");
  } else if (request.path == "/readyz") {
    answer = ready(parts.readiness());
  } else if (request.path == "/metrics") {
    answer = {200, std::string(kMetricsType), parts.metrics(), {}};
  } else {
    answer = problem_response({404, "not_found", "There is no such thing", "here are /livez, /readyz and /metrics", {}},
                              request.request_id);
  }
  answer.headers.emplace_back("Cache-Control", "no-store");
  return answer;
}

}  // namespace hakea::service
