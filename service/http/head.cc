#include "service/http/head.h"

#include <fmt/format.h>

#include <boost/beast/http/status.hpp>
#include <iterator>

#include "service/base/clock.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

void write_field(std::string& head, std::string_view name, std::string_view value) {
  ((head += name) += ": ") += value;
  head += "\r\n";
}

// Of this second, written once in it.
std::string_view date_now() {
  thread_local UtcTime second{};
  thread_local std::string text;
  if (const UtcTime now = clock_time(); text.empty() || now != second) {
    second = now;
    text = http_date(now);
  }
  return text;
}

}  // namespace

void write_fields(std::string& head, const Response& answer) {
  if (!answer.content_type.empty()) write_field(head, "Content-Type", answer.content_type);
  for (const auto& [name, value] : answer.headers) write_field(head, name, value);
}

void write_head(std::string& head, const Response& answer, HeadOptions options) {
  const auto reason =
      boost::beast::http::obsolete_reason(boost::beast::http::int_to_status(static_cast<unsigned>(answer.status)));
  fmt::format_to(std::back_inserter(head), "HTTP/1.{} {} {}\r\n", options.is_http_1_0 ? 0 : 1, answer.status,
                 std::string_view(reason.data(), reason.size()));
  write_field(head, "Date", date_now());
  write_field(head, "X-Content-Type-Options", "nosniff");
  if (answer.kept_fields) head += *answer.kept_fields;
  write_fields(head, answer);
  if (!options.keeps)
    write_field(head, "Connection", "close");
  else if (options.is_http_1_0)
    write_field(head, "Connection", "keep-alive");
  if (!answer.more && answer.has_body())
    fmt::format_to(std::back_inserter(head), "Content-Length: {}\r\n", answer.bytes().size());
  head += "\r\n";
}

}  // namespace hakea::service
