#include "service/deliver/mail.h"

#include <curl/curl.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/deliver/signature.h"
#include "service/deliver/transfer.h"

namespace hakea::service {
namespace {

constexpr TransferTimes kMailTimes{std::chrono::seconds(10), std::chrono::seconds(30)};
constexpr std::size_t kWordBytes = 42;        // of text in an encoded word, which may have 75 letters
constexpr std::size_t kReferenceBytes = 900;  // of a line, which may have 998 (RFC 5322 §2.1.1)

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
    const bool is_letter =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '.' || c == '_';
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

Lines headers_of(const MailMessage& message, const MailSettings& settings, UtcTime now) {
  const std::string host = settings.from.substr(settings.from.find('@') + 1);
  Lines headers = no_lines();
  add_line(headers, "Date: " + mail_date(now));
  add_line(headers, fmt::format("From: {} <{}>", header_text(settings.name), settings.from));
  add_line(headers, fmt::format("To: <{}>", message.to));
  add_line(headers, "Subject: " + header_text(message.subject));
  add_line(headers, fmt::format("Message-ID: <{}@{}>", atom(message.id), host));
  if (!message.threads.empty()) {
    std::string references;
    for (const std::string& thread : message.threads) {
      const std::string one = fmt::format(" <{}@{}>", atom(thread), host);
      if (references.size() + one.size() > kReferenceBytes) break;
      references += one;
    }
    add_line(headers, fmt::format("In-Reply-To: <{}@{}>", atom(message.threads.front()), host));
    add_line(headers, "References:" + references);
  }
  add_line(headers, "Auto-Submitted: auto-generated");
  if (!message.list.empty())
    add_line(headers, fmt::format("List-Id: {} <{}.windows.{}>", header_text(settings.name + " " + message.list),
                                  atom(message.list), host));
  if (!message.unsubscribe_url.empty()) {
    add_line(headers, fmt::format("List-Unsubscribe: <{}>", message.unsubscribe_url));
    add_line(headers, "List-Unsubscribe-Post: List-Unsubscribe=One-Click");
  }
  add_line(headers, "Content-Type: multipart/alternative");
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
    // Not inside a letter.
    while (to < plain.size() && to > from + 1 && (static_cast<unsigned char>(plain[to]) & 0xc0) == 0x80) --to;
    words += fmt::format("{}=?UTF-8?B?{}?=", words.empty() ? "" : " ", base64(plain.substr(from, to - from)));
    from = to;
  }
  return words;
}

Attempt send_mail(const MailMessage& message, const MailSettings& settings, UtcTime now) {
  const char* protocol = settings.tls == MailSettings::Tls::implicit ? "smtps" : "smtp";
  const Transfer transfer =
      make_transfer(fmt::format("{}://{}:{}", protocol, settings.host, settings.port), protocol, kMailTimes, settings.ca_file);
  if (!transfer) return failed_attempt("no transfer can be made");
  CURL* t = transfer.get();
  const std::string from = "<" + settings.from + ">", to = "<" + message.to + ">";
  Lines recipients = no_lines();
  add_line(recipients, to);
  const Lines headers = headers_of(message, settings, now);
  const std::unique_ptr<curl_mime, void (*)(curl_mime*)> both(curl_mime_init(t), curl_mime_free);
  add_part(both.get(), message.text, "text/plain; charset=utf-8");
  add_part(both.get(), message.html, "text/html; charset=utf-8");
  curl_easy_setopt(t, CURLOPT_USE_SSL,
                   static_cast<long>(settings.tls == MailSettings::Tls::none ? CURLUSESSL_NONE : CURLUSESSL_ALL));
  curl_easy_setopt(t, CURLOPT_MAIL_FROM, from.c_str());
  curl_easy_setopt(t, CURLOPT_MAIL_RCPT, recipients.get());
  curl_easy_setopt(t, CURLOPT_HTTPHEADER, headers.get());
  curl_easy_setopt(t, CURLOPT_MIMEPOST, both.get());
  if (!settings.user.empty()) {
    curl_easy_setopt(t, CURLOPT_USERNAME, settings.user.c_str());
    curl_easy_setopt(t, CURLOPT_PASSWORD, settings.password.c_str());
  }
  const CURLcode code = curl_easy_perform(t);
  long status = 0;
  curl_easy_getinfo(t, CURLINFO_RESPONSE_CODE, &status);
  Attempt attempt;
  attempt.status = static_cast<int>(status);
  attempt.is_delivered = code == CURLE_OK;
  if (code == CURLE_OK) return attempt;
  attempt.error = status >= 400 ? fmt::format("the relay answered {}", status) : curl_easy_strerror(code);
  // What is refused for good (a mailbox that does not exist) stays so; failing to sign in may be put right.
  attempt.is_hopeless = status >= 550 && status < 560 && code != CURLE_LOGIN_DENIED;
  return attempt;
}

}  // namespace hakea::service
