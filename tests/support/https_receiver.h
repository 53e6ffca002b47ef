// A receiver of webhooks on this machine that takes them, or fails in one of the ways in which receivers do.
#pragma once

#include <condition_variable>
#include <list>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

typedef struct ssl_ctx_st SSL_CTX;
typedef struct ssl_st SSL;

namespace hakea::test {

class HttpsReceiver {
 public:
  enum class Does { takes, fails, redirects, hangs };
  // What came, whole, in the order in which it came.
  struct Message {
    std::string id;  // of its header
    std::string body;
    bool is_taken = false;  // it was answered with 200
  };

  // At a free port of 127.0.0.1. One that does not listen yet refuses connections.
  explicit HttpsReceiver(Does does = Does::takes, bool listens = true);
  ~HttpsReceiver();
  HttpsReceiver(const HttpsReceiver&) = delete;
  HttpsReceiver& operator=(const HttpsReceiver&) = delete;

  void listen();
  void begin_to(Does does);  // from the next message on; those that hang are let go without an answer
  std::string url() const { return "https://localhost:" + std::to_string(port_) + "/hook"; }
  int port() const { return port_; }
  // Its own certificate, of "localhost", in PEM.
  static std::string certificate();
  std::vector<Message> messages() const;

 private:
  void accept_all();
  void serve(int connection);
  void answer(SSL* tls);

  int socket_ = -1, port_ = 0;
  std::unique_ptr<SSL_CTX, void (*)(SSL_CTX*)> context_;
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  Does does_;
  int turn_ = 0;  // counts the calls of begin_to()
  bool is_ending_ = false;
  std::vector<Message> messages_;
  std::list<std::thread> serving_;
  std::thread accepting_;
};

}  // namespace hakea::test
