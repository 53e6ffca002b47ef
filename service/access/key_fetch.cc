#include "service/access/key_fetch.h"

#include <fmt/format.h>

#include <algorithm>

#include "service/deliver/transfer.h"
#include "service/input/json.h"

namespace hakea::service {
namespace {

constexpr TransferTimes kKeyPatience{.to_connect = std::chrono::seconds(2), .whole = std::chrono::seconds(4)};
constexpr std::size_t kBytesAtMost = 1 << 20;

std::size_t take(const char* bytes, std::size_t size, std::size_t count, void* text) {
  auto& taken = *static_cast<std::string*>(text);
  if (taken.size() + size * count > kBytesAtMost) return 0;  // ends the transfer
  taken.append(bytes, size * count);
  return size * count;
}

Result<std::string> by_http(const std::string& url) {
  const Transfer transfer = make_transfer(url, "https,http", kKeyPatience, {});
  std::string text;
  const auto unreadable = [&](std::string_view why) {
    return Error{ErrorKind::failed, "unreadable", url, fmt::format("the keys cannot be fetched: {}", why),
                 "check the address and that this machine reaches it"};
  };
  if (!transfer) return unreadable("no transfer can be made");
  CURL* t = transfer.get();
  curl_easy_setopt(t, CURLOPT_PROXY, nullptr);  // the operator's own address, by the proxy that the machine is set to, if any
  curl_easy_setopt(t, CURLOPT_FOLLOWLOCATION, 0L);
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
  const std::size_t host = std::min(url.find("://"), url.size());
  const std::string_view authority = url.substr(host).substr(0, url.substr(host).find_first_of("/?#", 3));
  if (authority.find('@') != authority.npos) return "a host is meant by what stands behind an @; leave out what stands before it";
  if (url.starts_with("https://")) return {};
  for (const std::string_view here : {"http://127.0.0.1:", "http://127.0.0.1/", "http://[::1]:", "http://localhost:"})
    if (url.starts_with(here)) return {};
  return "keys that decide who may do what are fetched by https only, but at this machine";
}

Result<std::string> fetch_keys(const std::string& place) { return is_url(place) ? by_http(place) : read_text_file(place); }

}  // namespace hakea::service
