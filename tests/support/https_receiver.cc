#include "tests/support/https_receiver.h"

#include <netinet/in.h>
#include <openssl/ec.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <stdexcept>
#include <utility>

namespace hakea::test {
namespace {

struct Identity {
  EVP_PKEY* key = nullptr;
  X509* certificate = nullptr;
};

// One for the whole process, of "localhost", signed by itself.
const Identity& identity() {
  static const Identity kMade = [] {
    Identity made;
    made.key = EVP_EC_gen("P-256");
    made.certificate = X509_new();
    X509_set_version(made.certificate, 2);
    ASN1_INTEGER_set(X509_get_serialNumber(made.certificate), 1);
    X509_gmtime_adj(X509_getm_notBefore(made.certificate), -3600);
    X509_gmtime_adj(X509_getm_notAfter(made.certificate), 86400);
    X509_set_pubkey(made.certificate, made.key);
    X509_NAME* name = X509_get_subject_name(made.certificate);
    X509_NAME_add_entry_by_txt(name, "CN", MBSTRING_ASC, reinterpret_cast<const unsigned char*>("localhost"), -1, -1, 0);
    X509_set_issuer_name(made.certificate, name);
    X509V3_CTX context;
    X509V3_set_ctx(&context, made.certificate, made.certificate, nullptr, nullptr, 0);
    X509V3_set_ctx_nodb(&context);
    for (const auto& [what, value] :
         {std::pair(NID_subject_alt_name, "DNS:localhost"), std::pair(NID_basic_constraints, "critical,CA:TRUE")}) {
      X509_EXTENSION* extension = X509V3_EXT_conf_nid(nullptr, &context, what, value);
      X509_add_ext(made.certificate, extension, -1);
      X509_EXTENSION_free(extension);
    }
    if (X509_sign(made.certificate, made.key, EVP_sha256()) == 0) throw std::runtime_error("no certificate can be made");
    return made;
  }();
  return kMade;
}

// The value of a header, as it is sent by libcurl: in small letters.
std::string header_in(const std::string& head, const std::string& name) {
  const std::size_t at = head.find("\r\n" + name + ": ");
  if (at == std::string::npos) return "";
  const std::size_t from = at + name.size() + 4;
  return head.substr(from, head.find("\r\n", from) - from);
}

}  // namespace

HttpsReceiver::HttpsReceiver(Does does, bool listens)
    : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)),
      context_(SSL_CTX_new(TLS_server_method()), SSL_CTX_free),
      does_(does) {
  ::signal(SIGPIPE, SIG_IGN);  // a sender that was killed is an error of one write
  SSL_CTX_use_certificate(context_.get(), identity().certificate);
  SSL_CTX_use_PrivateKey(context_.get(), identity().key);
  sockaddr_in here{};
  here.sin_family = AF_INET;
  here.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof here;
  if (::bind(socket_, reinterpret_cast<const sockaddr*>(&here), sizeof here) != 0 ||
      ::getsockname(socket_, reinterpret_cast<sockaddr*>(&here), &size) != 0)
    throw std::runtime_error("no port for a receiver");
  port_ = ntohs(here.sin_port);
  if (listens) listen();
}

HttpsReceiver::~HttpsReceiver() {
  {
    const std::lock_guard lock(mutex_);
    is_ending_ = true;
  }
  changed_.notify_all();
  ::shutdown(socket_, SHUT_RDWR);
  if (accepting_.joinable()) accepting_.join();
  for (std::thread& one : serving_) one.join();
  ::close(socket_);
}

void HttpsReceiver::listen() {
  if (::listen(socket_, 64) != 0) throw std::runtime_error("a receiver cannot listen");
  accepting_ = std::thread([this] { accept_all(); });
}

void HttpsReceiver::begin_to(Does does) {
  {
    const std::lock_guard lock(mutex_);
    does_ = does;
    ++turn_;
  }
  changed_.notify_all();
}

std::string HttpsReceiver::certificate() {
  const std::unique_ptr<BIO, int (*)(BIO*)> text(BIO_new(BIO_s_mem()), BIO_free);
  PEM_write_bio_X509(text.get(), identity().certificate);
  char bytes[4096];
  const int size = BIO_read(text.get(), bytes, sizeof bytes);
  return {bytes, static_cast<std::size_t>(std::max(size, 0))};
}

std::vector<HttpsReceiver::Message> HttpsReceiver::messages() const {
  const std::lock_guard lock(mutex_);
  return messages_;
}

void HttpsReceiver::accept_all() {
  for (int connection; (connection = ::accept4(socket_, nullptr, nullptr, SOCK_CLOEXEC)) >= 0;) {
    const std::lock_guard lock(mutex_);
    serving_.emplace_back([this, connection] { serve(connection); });
  }
}

void HttpsReceiver::serve(int connection) {
  const timeval patience{60, 0};
  ::setsockopt(connection, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  const std::unique_ptr<SSL, void (*)(SSL*)> tls(SSL_new(context_.get()), SSL_free);
  SSL_set_fd(tls.get(), connection);
  if (SSL_accept(tls.get()) == 1) answer(tls.get());
  ::close(connection);
}

void HttpsReceiver::answer(SSL* tls) {
  std::string came;
  char bytes[4096];
  std::size_t end = std::string::npos, whole = 0;
  while (end == std::string::npos || came.size() < whole) {
    const int n = SSL_read(tls, bytes, sizeof bytes);
    if (n <= 0) return;
    came.append(bytes, static_cast<std::size_t>(n));
    if (end != std::string::npos || (end = came.find("\r\n\r\n")) == std::string::npos) continue;
    whole = end + 4 + std::strtoul(header_in(came, "Content-Length").c_str(), nullptr, 10);
  }
  std::unique_lock lock(mutex_);
  const std::size_t place = messages_.size();
  messages_.push_back({header_in(came.substr(0, end + 2), "webhook-id"), came.substr(end + 4), false});
  const Does does = does_;
  if (does == Does::hangs) {
    changed_.wait(lock, [this, turn = turn_] { return is_ending_ || turn_ != turn; });
    return;
  }
  lock.unlock();
  const std::string line = does == Does::takes   ? "200 OK\r\n"
                           : does == Does::fails ? "500 Internal Server Error\r\n"
                                                 : "302 Found\r\nLocation: " + url() + "/elsewhere\r\n";
  const std::string said = "HTTP/1.1 " + line + "Content-Length: 0\r\nConnection: close\r\n\r\n";
  const bool is_said = SSL_write(tls, said.data(), static_cast<int>(said.size())) > 0;
  SSL_shutdown(tls);
  lock.lock();
  messages_[place].is_taken = is_said && does == Does::takes;
}

}  // namespace hakea::test
