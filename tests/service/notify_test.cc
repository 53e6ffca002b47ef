// The notification protocol of the service manager: one datagram to the socket it names.
#include "service/app/notify.h"

#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstddef>
#include <cstdlib>
#include <cstring>
#include <string>

#include "tests/support/temp_dir.h"

namespace hakea::service {
namespace {

// The manager's end. A name that begins with @ stands in no folder.
class Manager {
 public:
  explicit Manager(std::string name) : socket_(socket(AF_UNIX, SOCK_DGRAM | SOCK_NONBLOCK, 0)) {
    setenv("NOTIFY_SOCKET", name.c_str(), 1);
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    if (name[0] == '@') name[0] = '\0';
    std::memcpy(address.sun_path, name.data(), name.size());
    const auto length = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + name.size());
    is_bound_ = bind(socket_, reinterpret_cast<const sockaddr*>(&address), length) == 0;
  }
  ~Manager() {
    unsetenv("NOTIFY_SOCKET");
    close(socket_);
  }
  bool is_bound() const { return is_bound_; }
  std::string heard() const {
    char bytes[256];
    const auto n = recv(socket_, bytes, sizeof bytes, 0);
    return n < 0 ? "" : std::string(bytes, static_cast<std::size_t>(n));
  }

 private:
  int socket_;
  bool is_bound_ = false;
};

TEST(NotifyManager, TellsTheSocketThatIsNamed) {
  const test::TempDir folder;
  for (const std::string& name : {(folder.path() / "notify").string(), "@hakea-test-" + std::to_string(getpid())}) {
    const Manager manager(name);
    ASSERT_TRUE(manager.is_bound()) << name;
    EXPECT_TRUE(notify_manager("READY=1\nSTATUS=Answering"));
    EXPECT_EQ(manager.heard(), "READY=1\nSTATUS=Answering");
  }
}

TEST(NotifyManager, IsSilentWhereNobodyAskedAndSaysWhenNobodyListens) {
  unsetenv("NOTIFY_SOCKET");
  EXPECT_TRUE(notify_manager("READY=1"));
  for (const char* nobody : {"/nowhere/at/all", "relative"}) {
    setenv("NOTIFY_SOCKET", nobody, 1);
    EXPECT_FALSE(notify_manager("READY=1")) << nobody;
  }
  unsetenv("NOTIFY_SOCKET");
}

}  // namespace
}  // namespace hakea::service
