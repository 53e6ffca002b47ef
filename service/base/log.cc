#include "service/base/log.h"

#include <fmt/format.h>
#include <spdlog/formatter.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

#include "service/output/json_writer.h"

namespace hakea::service {
namespace {

// ,"name":"value" of what is in force, one after the other.
thread_local std::string context_members;

// {"time":"2026-04-02T10:00:00.123Z","level":"info","msg":"…"}
class JsonLine : public spdlog::formatter {
 public:
  void format(const spdlog::details::log_msg& message, spdlog::memory_buf_t& line) override {
    using namespace std::chrono;
    const auto seconds = floor<std::chrono::seconds>(message.time);
    const auto date = floor<days>(seconds);
    const year_month_day day(date);
    const auto clock = (seconds - date).count();
    JsonWriter out;
    out.begin_object();
    out.text("time", fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z", int(day.year()), unsigned(day.month()),
                                 unsigned(day.day()), clock / 3600, clock / 60 % 60, clock % 60,
                                 duration_cast<milliseconds>(message.time - seconds).count()));
    out.text("level", spdlog::level::to_string_view(message.level).data());
    out.text("msg", {message.payload.data(), message.payload.size()});
    const std::string text = out.str() + context_members + "}\n";
    line.append(text.data(), text.data() + text.size());
  }
  std::unique_ptr<spdlog::formatter> clone() const override { return std::make_unique<JsonLine>(); }
};

}  // namespace

void start_log(LogLines lines) {
  auto log = std::make_shared<spdlog::logger>("hakea", std::make_shared<spdlog::sinks::stderr_sink_mt>());
  if (lines == LogLines::json)
    log->set_formatter(std::make_unique<JsonLine>());
  else
    log->set_pattern("%v");
  log->flush_on(spdlog::level::info);
  spdlog::set_default_logger(std::move(log));
}

LogMember::LogMember(std::string_view member, std::string_view text) {
  JsonWriter out;
  json = out.begin_object().text(member, text).str().substr(1);
}

LogMember::LogMember(std::string_view member, long long number) {
  JsonWriter out;
  json = out.begin_object().whole(member, number).str().substr(1);
}

LogContext::LogContext(std::initializer_list<LogMember> members) : before_(context_members.size()) {
  for (const LogMember& member : members) (context_members += ',') += member.json;
}

LogContext::~LogContext() { context_members.resize(before_); }

void log_errors(std::string_view about, const Errors& errors) {
  for (const Error& error : errors)
    spdlog::error("{}: {}{}{} [{}]{}{}", about, error.where, error.where.empty() ? "" : ": ", error.what, error.code,
                  error.hint.empty() ? "" : "; ", error.hint);
}

}  // namespace hakea::service
