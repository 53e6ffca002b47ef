// A request and its answer as plain values: handlers are functions from one to the other and know no socket.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace hakea::service {

class KeptFile;

struct Request {
  std::string method = "GET";
  std::string path;                                         // decoded, without query
  std::vector<std::pair<std::string, std::string>> query;   // decoded, in order
  std::map<std::string, std::string, std::less<>> headers;  // names in lower case
  std::string body;
  std::string address;  // of the caller
  bool is_loopback = false;
  std::string request_id;

  std::string_view header(std::string_view name) const {
    const auto found = headers.find(name);
    return found == headers.end() ? std::string_view() : std::string_view(found->second);
  }
};

struct Response {
  int status = 200;
  std::string content_type = "application/json";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
  // In place of `body`: bytes that are kept for other callers too and are sent from where they are.
  std::shared_ptr<const std::string> kept = nullptr;
  std::shared_ptr<const KeptFile> kept_file = nullptr;  // the same bytes
  // Fields as they are sent, kept in the same way, in place of `content_type` and before `headers` (head.h).
  std::shared_ptr<const std::string> kept_fields = nullptr;

  const std::string& bytes() const { return kept ? *kept : body; }
  bool has_body() const { return status != 204 && status != 304; }
  std::string_view header(std::string_view name) const {
    for (const auto& [known, value] : headers)
      if (known == name) return value;
    return {};
  }
  void set_header(std::string_view name, std::string value) {
    for (auto& [known, old] : headers)
      if (known == name) {
        old = std::move(value);
        return;
      }
    headers.emplace_back(name, std::move(value));
  }
  // An answer that goes on: called every second, on a worker, for what comes next; nothing ends it. The body is left out.
  std::function<std::optional<std::string>()> more{};
};

}  // namespace hakea::service
