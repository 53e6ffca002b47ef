#include "service/app/notify.h"

#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstddef>
#include <cstdlib>
#include <cstring>

namespace hakea::service {

bool notify_manager(std::string_view state) {
  const char* name = std::getenv("NOTIFY_SOCKET");
  if (!name || *name == '\0') return true;
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  const std::size_t length = std::strlen(name);
  if ((name[0] != '/' && name[0] != '@') || length >= sizeof address.sun_path) return false;
  std::memcpy(address.sun_path, name, length);
  if (name[0] == '@') address.sun_path[0] = '\0';  // a name without a file
  const int channel = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  if (channel < 0) return false;
  const auto sent = sendto(channel, state.data(), state.size(), MSG_NOSIGNAL, reinterpret_cast<const sockaddr*>(&address),
                           static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + length));
  close(channel);
  return sent == static_cast<ssize_t>(state.size());
}

}  // namespace hakea::service
