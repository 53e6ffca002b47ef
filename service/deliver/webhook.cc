#include "service/deliver/webhook.h"

#include <curl/curl.h>
#include <fmt/format.h>
#include <netdb.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>

#include "service/deliver/signature.h"
#include "service/deliver/transfer.h"

namespace hakea::service {
namespace {

constexpr TransferTimes kWebhookTimes{std::chrono::seconds(5), std::chrono::seconds(15)};
constexpr std::size_t kAnswerBytes = 1024;
constexpr long kLongestWait = 24 * 3600;  // that a receiver may ask for

struct HostAndPort {
  std::string host;  // without the brackets of an IPv6 address
  int port = 443;
};

std::optional<HostAndPort> place_of(const std::string& url) {
  const std::unique_ptr<CURLU, void (*)(CURLU*)> parsed(curl_url(), curl_url_cleanup);
  if (!parsed || curl_url_set(parsed.get(), CURLUPART_URL, url.c_str(), 0) != CURLUE_OK) return std::nullopt;
  const auto part = [&](CURLUPart which, unsigned flags) {
    char* text = nullptr;
    std::string copy;
    if (curl_url_get(parsed.get(), which, &text, flags) == CURLUE_OK && text) copy = text;
    curl_free(text);
    return copy;
  };
  if (part(CURLUPART_SCHEME, 0) != "https" || !part(CURLUPART_USER, 0).empty()) return std::nullopt;
  HostAndPort place{part(CURLUPART_HOST, 0), 443};
  if (place.host.starts_with('[') && place.host.ends_with(']')) place.host = place.host.substr(1, place.host.size() - 2);
  const std::string port = part(CURLUPART_PORT, CURLU_DEFAULT_PORT);
  if (place.host.empty() || port.empty()) return std::nullopt;
  place.port = std::stoi(port);
  return place;
}

// All addresses of a host that a connection could go to.
std::vector<NetworkAddress> addresses_of(const HostAndPort& place) {
  addrinfo wanted{};
  wanted.ai_socktype = SOCK_STREAM;
  wanted.ai_flags = AI_ADDRCONFIG;
  addrinfo* found = nullptr;
  std::vector<NetworkAddress> addresses;
  if (getaddrinfo(place.host.c_str(), nullptr, &wanted, &found) != 0) return addresses;
  const std::unique_ptr<addrinfo, void (*)(addrinfo*)> owned(found, freeaddrinfo);
  for (const addrinfo* each = found; each; each = each->ai_next)
    if (const auto address = address_of(each->ai_addr)) addresses.push_back(*address);
  return addresses;
}

// Called by libcurl for each address it is about to connect to; the last door.
curl_socket_t open_socket(void* settings, curlsocktype, curl_sockaddr* to) {
  const auto address = address_of(&to->addr);
  if (!address || !may_reach(*address, static_cast<const WebhookSettings*>(settings)->allowed)) return CURL_SOCKET_BAD;
  return socket(to->family, to->socktype | SOCK_CLOEXEC, to->protocol);
}

// What is answered is thrown away; a receiver that goes on and on is left.
std::size_t count_answer(const char*, std::size_t size, std::size_t count, void* taken) {
  auto& sum = *static_cast<std::size_t*>(taken);
  sum += size * count;
  return sum > kAnswerBytes ? 0 : size * count;
}

Attempt judged(CURL* t, CURLcode code, std::size_t answered) {
  long status = 0, wait = 0;
  curl_easy_getinfo(t, CURLINFO_RESPONSE_CODE, &status);
  Attempt attempt;
  attempt.status = static_cast<int>(status);
  const bool is_cut = code == CURLE_WRITE_ERROR && answered > kAnswerBytes;
  if (code != CURLE_OK && !is_cut) {
    attempt.status = 0;
    attempt.error = code == CURLE_COULDNT_CONNECT ? "no connection to the receiver" : curl_easy_strerror(code);
    return attempt;
  }
  attempt.is_delivered = status >= 200 && status < 300;
  if (attempt.is_delivered) return attempt;
  attempt.error = fmt::format("the receiver answered {}", status);
  if (status >= 300 && status < 400) attempt.error += ", and redirects are not followed";
  attempt.is_gone = status == 410;
  curl_off_t after = 0;
  if (curl_easy_getinfo(t, CURLINFO_RETRY_AFTER, &after) == CURLE_OK)
    wait = static_cast<long>(std::min<curl_off_t>(after, kLongestWait));
  if (wait > 0) attempt.retry_after = std::chrono::seconds(wait);
  return attempt;
}

}  // namespace

Attempt send_webhook(const WebhookMessage& message, const WebhookSettings& settings, UtcTime now) {
  const auto place = place_of(message.url);
  if (!place) return failed_attempt("this is no https URL that can be used", true);
  if (std::find(settings.ports.begin(), settings.ports.end(), place->port) == settings.ports.end())
    return failed_attempt(fmt::format("port {} is not among those that may be reached", place->port));
  const std::vector<NetworkAddress> addresses = addresses_of(*place);
  if (addresses.empty()) return failed_attempt("the host has no address");
  if (std::any_of(addresses.begin(), addresses.end(), [&](const NetworkAddress& a) { return !may_reach(a, settings.allowed); }))
    return failed_attempt("the host has an address that may not be reached");

  const Transfer transfer = make_transfer(message.url, "https", kWebhookTimes, settings.ca_file);
  if (!transfer) return failed_attempt("no transfer can be made");
  CURL* t = transfer.get();
  std::string pinned = fmt::format("{}:{}:", place->host, place->port);
  for (std::size_t i = 0; i < addresses.size(); ++i) {
    const std::string text = address_text(addresses[i]);
    pinned += fmt::format("{}{}", i > 0 ? "," : "", addresses[i].is_v4 ? text : "[" + text + "]");
  }
  Lines pin = no_lines(), headers = no_lines();
  add_line(pin, pinned);
  add_line(headers, "Content-Type: " + message.content_type);
  add_line(headers, "webhook-id: " + message.id);
  add_line(headers, fmt::format("webhook-timestamp: {}", now.time_since_epoch().count()));
  add_line(headers, "webhook-signature: " + signatures(message.id, now, message.body, message.secrets));
  add_line(headers, "Expect:");
  std::size_t answered = 0;
  curl_easy_setopt(t, CURLOPT_FOLLOWLOCATION, 0L);
  curl_easy_setopt(t, CURLOPT_RESOLVE, pin.get());
  curl_easy_setopt(t, CURLOPT_OPENSOCKETFUNCTION, open_socket);
  curl_easy_setopt(t, CURLOPT_OPENSOCKETDATA, const_cast<WebhookSettings*>(&settings));
  curl_easy_setopt(t, CURLOPT_USERAGENT, "hakea");
  curl_easy_setopt(t, CURLOPT_HTTPHEADER, headers.get());
  curl_easy_setopt(t, CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(message.body.size()));
  curl_easy_setopt(t, CURLOPT_POSTFIELDS, message.body.c_str());
  curl_easy_setopt(t, CURLOPT_WRITEFUNCTION, count_answer);
  curl_easy_setopt(t, CURLOPT_WRITEDATA, &answered);
  const CURLcode code = curl_easy_perform(t);
  return judged(t, code, answered);
}

}  // namespace hakea::service
