#include "service/access/key_fetch.h"

#include <curl/curl.h>
#include <fmt/format.h>

#include <memory>
#include <mutex>

#include "service/input/json.h"

namespace hakea::service {
namespace {

constexpr long kMilliseconds = 4000;
constexpr std::size_t kBytesAtMost = 1 << 20;

std::size_t take(const char* bytes, std::size_t size, std::size_t count, void* text) {
  auto& taken = *static_cast<std::string*>(text);
  if (taken.size() + size * count > kBytesAtMost) return 0;  // ends the transfer
  taken.append(bytes, size * count);
  return size * count;
}

Result<std::string> by_http(const std::string& url) {
  static std::once_flag once;
  std::call_once(once, [] { curl_global_init(CURL_GLOBAL_DEFAULT); });
  const std::unique_ptr<CURL, void (*)(CURL*)> transfer(curl_easy_init(), curl_easy_cleanup);
  std::string text;
  const auto unreadable = [&](std::string_view why) {
    return Error{ErrorKind::failed, "unreadable", url, fmt::format("the keys cannot be fetched: {}", why),
                 "check the address and that this machine reaches it"};
  };
  if (!transfer) return unreadable("no transfer can be made");
  CURL* t = transfer.get();
  curl_easy_setopt(t, CURLOPT_URL, url.c_str());
  curl_easy_setopt(t, CURLOPT_PROTOCOLS_STR, "https,http");
  curl_easy_setopt(t, CURLOPT_FOLLOWLOCATION, 0L);
  curl_easy_setopt(t, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(t, CURLOPT_TIMEOUT_MS, kMilliseconds);
  curl_easy_setopt(t, CURLOPT_WRITEFUNCTION, take);
  curl_easy_setopt(t, CURLOPT_WRITEDATA, &text);
  if (const CURLcode failed = curl_easy_perform(t); failed != CURLE_OK) return unreadable(curl_easy_strerror(failed));
  long status = 0;
  curl_easy_getinfo(t, CURLINFO_RESPONSE_CODE, &status);
  if (status != 200) return unreadable(fmt::format("the answer has status {}", status));
  return text;
}

}  // namespace

bool is_url(std::string_view place) { return place.find("://") != std::string_view::npos; }

std::string wrong_url(std::string_view url) {
  if (url.starts_with("https://")) return {};
  for (const std::string_view here : {"http://127.0.0.1:", "http://127.0.0.1/", "http://[::1]:", "http://localhost:"})
    if (url.starts_with(here)) return {};
  return "keys that decide who may do what are fetched by https only, but at this machine";
}

Result<std::string> fetch_keys(const std::string& place) { return is_url(place) ? by_http(place) : read_text_file(place); }

}  // namespace hakea::service
