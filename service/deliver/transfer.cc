#include "service/deliver/transfer.h"

#include <mutex>

namespace hakea::service {

Transfer make_transfer(const std::string& url, const char* protocol, TransferTimes times, const std::string& ca_file) {
  static std::once_flag once;
  std::call_once(once, [] { curl_global_init(CURL_GLOBAL_DEFAULT); });
  Transfer transfer(curl_easy_init(), curl_easy_cleanup);
  if (!transfer) return transfer;
  CURL* t = transfer.get();
  curl_easy_setopt(t, CURLOPT_URL, url.c_str());
  curl_easy_setopt(t, CURLOPT_PROTOCOLS_STR, protocol);
  curl_easy_setopt(t, CURLOPT_PROXY, "");
  curl_easy_setopt(t, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(t, CURLOPT_CONNECTTIMEOUT_MS, static_cast<long>(times.to_connect.count()));
  curl_easy_setopt(t, CURLOPT_TIMEOUT_MS, static_cast<long>(times.whole.count()));
  if (!ca_file.empty()) curl_easy_setopt(t, CURLOPT_CAINFO, ca_file.c_str());
  return transfer;
}

Lines no_lines() { return {nullptr, curl_slist_free_all}; }

void add_line(Lines& lines, const std::string& line) {
  if (curl_slist* longer = curl_slist_append(lines.get(), line.c_str())) {
    static_cast<void>(lines.release());
    lines.reset(longer);
  }
}

}  // namespace hakea::service
