#include "service/http/compression.h"

#include <libdeflate.h>

#include <algorithm>
#include <memory>

#include "service/http/accept.h"

namespace hakea::service {
namespace {

constexpr std::size_t kWorth = 1024;
constexpr int kLevel = 6;  // of 12: more costs much and saves little of JSON

bool is_text(std::string_view type) {
  type = type_alone(type);
  return type.starts_with("text/") || type == "application/json" || type.ends_with("+json") || type.ends_with("+xml") ||
         type == "application/xml" || type == "application/javascript";
}

}  // namespace

bool takes_gzip(std::string_view accept_encoding) {
  // Without the header anything would do; callers that say nothing mostly cannot unpack.
  return !accept_encoding.empty() && best_type(accept_encoding, "gzip").has_value();
}

bool is_worth_compressing(const Request& request, const Response& answer) {
  return answer.bytes().size() > kWorth && is_text(answer.content_type) && answer.header("Content-Encoding").empty() &&
         answer.header("Set-Cookie").empty() && request.path.find("/session") == std::string::npos &&
         request.path.find("/tokens") == std::string::npos && request.path.find("/subscriptions") == std::string::npos &&
         answer.content_type != "text/event-stream";
}

std::string gzip(std::string_view bytes) {
  struct Release {
    void operator()(libdeflate_compressor* c) const { libdeflate_free_compressor(c); }
  };
  thread_local const std::unique_ptr<libdeflate_compressor, Release> compressor(libdeflate_alloc_compressor(kLevel));
  if (!compressor) return {};
  std::string packed(libdeflate_gzip_compress_bound(compressor.get(), bytes.size()), '\0');
  packed.resize(libdeflate_gzip_compress(compressor.get(), bytes.data(), bytes.size(), packed.data(), packed.size()));
  packed.shrink_to_fit();
  return packed;
}

}  // namespace hakea::service
