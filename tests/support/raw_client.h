// A TCP client that sends bytes and reads answers of HTTP/1.1, for tests of a server; it knows no more of the protocol than
// where an answer ends. Reading fails after ten seconds, so that a test never hangs.
#pragma once

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <cstdlib>
#include <stdexcept>
#include <string>
#include <string_view>

namespace hakea::test {

struct RawAnswer {
  int status = 0;
  std::string head;  // with the status line
  std::string body;

  bool has(std::string_view line) const { return head.find(line) != std::string::npos; }
};

class RawClient {
 public:
  explicit RawClient(int port) : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
    const timeval patience{60, 0};  // for a machine with much else to do
    ::setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    ::setsockopt(socket_, SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);
    sockaddr_in there{};
    there.sin_family = AF_INET;
    there.sin_port = htons(static_cast<std::uint16_t>(port));
    there.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (::connect(socket_, reinterpret_cast<const sockaddr*>(&there), sizeof there) != 0)
      throw std::runtime_error("cannot connect");
  }
  ~RawClient() { ::close(socket_); }
  RawClient(const RawClient&) = delete;
  RawClient& operator=(const RawClient&) = delete;

  // False when the other side no longer takes anything.
  bool send(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t sent = ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (sent <= 0) return false;
      bytes.remove_prefix(static_cast<std::size_t>(sent));
    }
    return true;
  }

  // The next answer; `has_body` false for HEAD. Status 0 when the connection ended before it was whole.
  RawAnswer answer(bool has_body = true) {
    RawAnswer found;
    std::size_t end;
    while ((end = came_.find("\r\n\r\n")) == std::string::npos)
      if (!receive()) return found;
    found.head = came_.substr(0, end + 2);
    came_.erase(0, end + 4);
    std::size_t length = 0;
    if (const std::size_t at = found.head.find("Content-Length: "); at != std::string::npos)
      length = std::strtoul(found.head.c_str() + at + 16, nullptr, 10);
    const int status = std::atoi(found.head.c_str() + 9);
    if (status == 100 || !has_body) length = 0;
    while (came_.size() < length)
      if (!receive()) return found;
    found.body = came_.substr(0, length);
    came_.erase(0, length);
    found.status = status;
    return found;
  }

  RawAnswer ask(std::string_view request) {
    send(request);
    return answer();
  }

  // Whether the other side closes, without sending more.
  bool is_closed() { return came_.empty() && !receive(); }

 private:
  bool receive() {
    char bytes[4096];
    const ssize_t n = ::recv(socket_, bytes, sizeof bytes, 0);
    if (n <= 0) return false;
    came_.append(bytes, static_cast<std::size_t>(n));
    return true;
  }

  int socket_;
  std::string came_;
};

}  // namespace hakea::test
