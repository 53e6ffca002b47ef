#include "service/deliver/mail.h"

#include <curl/curl.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/deliver/signature.h"

namespace hakea::service {
namespace {

constexpr long kConnectMs = 10'000, kWholeMs = 30'000;
constexpr std::size_t kWordBytes = 42;  // of text in an encoded word, which may have 75 letters

using Headers = std::unique_ptr<curl_slist, void (*)(curl_slist*)>;

void add(Headers& list, const std::string& line) {
  if (curl_slist* longer = curl_slist_append(list.get(), line.c_str())) {
    static_cast<void>(list.release());
    list.reset(longer);
  }
}

// RFC 5322 §3.3.
std::string mail_date(UtcTime t) {
  constexpr std::array<std::string_view, 7> kDays{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  constexpr std::array<std::string_view, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const auto midnight = std::chrono::floor<std::chrono::days>(t);
  const std::chrono::year_month_day date(midnight);
  const auto s = (t - midnight).count();
  return fmt::format("{}, {:02} {} {:04} {:02}:{:02}:{:02} +0000", kDays[std::chrono::weekday(midnight).c_encoding()],
                     unsigned(date.day()), kMonths[unsigned(date.month()) - 1], int(date.year()), s / 3600, s / 60 % 60, s % 60);
}

// What may stand left of the @ of a message id (RFC 5322 atoms).
std::string atom(std::string_view text) {
  std::string safe;
  for (const char c : text) {
    const bool is_letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '.' || c == '_';
    safe += is_letter ? c : '.';
  }
  return safe;
}

void add_part(curl_mime* to, const std::string& text, const char* type) {
  curl_mimepart* part = curl_mime_addpart(to);
  curl_mime_data(part, text.data(), text.size());
  curl_mime_type(part, type);
  curl_mime_encoder(part, "quoted-printable");
}

Headers headers_of(const MailMessage& message, const MailSettings& settings, UtcTime now) {
  const std::string host = settings.from.substr(settings.from.find('@') + 1);
  Headers headers(nullptr, curl_slist_free_all);
  add(headers, "Date: " + mail_date(now));
  add(headers, fmt::format("From: {} <{}>", header_text(settings.name), settings.from));
  add(headers, fmt::format("To: <{}>", message.to));
  add(headers, "Subject: " + header_text(message.subject));
  add(headers, fmt::format("Message-ID: <{}@{}>", atom(message.id), host));
  if (!message.threads.empty()) {
    std::string references;
    for (const std::string& thread : message.threads) references += fmt::format(" <{}@{}>", atom(thread), host);
    add(headers, fmt::format("In-Reply-To: <{}@{}>", atom(message.threads.front()), host));
    add(headers, "References:" + references);
  }
  add(headers, "Auto-Submitted: auto-generated");
  if (!message.list.empty()) add(headers, fmt::format("List-Id: <{}.windows.{}>", atom(message.list), host));
  if (!message.unsubscribe_url.empty()) {
    add(headers, fmt::format("List-Unsubscribe: <{}>", message.unsubscribe_url));
    add(headers, "List-Unsubscribe-Post: List-Unsubscribe=One-Click");
  }
  add(headers, "Content-Type: multipart/alternative");
  return headers;
}

}  // namespace

std::string header_text(std::string_view text) {
  std::string plain;
  for (const char c : text) plain += c == '\r' || c == '\n' || c == '\t' || static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
  if (std::all_of(plain.begin(), plain.end(), [](char c) { return static_cast<unsigned char>(c) < 0x7f; })) return plain;
  std::string words;
  for (std::size_t from = 0; from < plain.size();) {
    std::size_t to = std::min(from + kWordBytes, plain.size());
    while (to < plain.size() && (static_cast<unsigned char>(plain[to]) & 0xc0) == 0x80) --to;  // not inside a letter
    words += fmt::format("{}=?UTF-8?B?{}?=", words.empty() ? "" : " ", base64(plain.substr(from, to - from)));
    from = to;
  }
  return words;
}

Attempt send_mail(const MailMessage& message, const MailSettings& settings, UtcTime now) {
  make_transfers_ready();
  Attempt attempt;
  const std::unique_ptr<CURL, void (*)(CURL*)> transfer(curl_easy_init(), curl_easy_cleanup);
  if (!transfer) {
    attempt.error = "no transfer can be made";
    return attempt;
  }
  CURL* t = transfer.get();
  const bool is_implicit = settings.tls == MailSettings::Tls::implicit;
  const std::string url = fmt::format("{}://{}:{}", is_implicit ? "smtps" : "smtp", settings.host, settings.port);
  const std::string from = "<" + settings.from + ">", to = "<" + message.to + ">";
  Headers recipients(nullptr, curl_slist_free_all);
  add(recipients, to);
  const Headers headers = headers_of(message, settings, now);
  const std::unique_ptr<curl_mime, void (*)(curl_mime*)> both(curl_mime_init(t), curl_mime_free);
  add_part(both.get(), message.text, "text/plain; charset=utf-8");
  add_part(both.get(), message.html, "text/html; charset=utf-8");
  curl_easy_setopt(t, CURLOPT_URL, url.c_str());
  curl_easy_setopt(t, CURLOPT_PROTOCOLS_STR, is_implicit ? "smtps" : "smtp");
  curl_easy_setopt(t, CURLOPT_USE_SSL, static_cast<long>(settings.tls == MailSettings::Tls::none ? CURLUSESSL_NONE : CURLUSESSL_ALL));
  curl_easy_setopt(t, CURLOPT_PROXY, "");
  curl_easy_setopt(t, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(t, CURLOPT_CONNECTTIMEOUT_MS, kConnectMs);
  curl_easy_setopt(t, CURLOPT_TIMEOUT_MS, kWholeMs);
  curl_easy_setopt(t, CURLOPT_MAIL_FROM, from.c_str());
  curl_easy_setopt(t, CURLOPT_MAIL_RCPT, recipients.get());
  curl_easy_setopt(t, CURLOPT_HTTPHEADER, headers.get());
  curl_easy_setopt(t, CURLOPT_MIMEPOST, both.get());
  if (!settings.ca_file.empty()) curl_easy_setopt(t, CURLOPT_CAINFO, settings.ca_file.c_str());
  if (!settings.user.empty()) {
    curl_easy_setopt(t, CURLOPT_USERNAME, settings.user.c_str());
    curl_easy_setopt(t, CURLOPT_PASSWORD, settings.password.c_str());
  }
  const CURLcode code = curl_easy_perform(t);
  long status = 0;
  curl_easy_getinfo(t, CURLINFO_RESPONSE_CODE, &status);
  attempt.status = static_cast<int>(status);
  attempt.is_delivered = code == CURLE_OK;
  if (code == CURLE_OK) return attempt;
  attempt.error = status >= 400 ? fmt::format("the relay answered {}", status) : curl_easy_strerror(code);
  // What is refused for good (a mailbox that does not exist) stays so; failing to sign in may be put right.
  attempt.is_hopeless = status >= 550 && status < 560 && code != CURLE_LOGIN_DENIED;
  return attempt;
}

}  // namespace hakea::service
