#include "service/engine/folder_watch.h"

#include <poll.h>
#include <sys/eventfd.h>
#include <sys/inotify.h>
#include <unistd.h>

#include <array>
#include <cstdint>

namespace hakea::service {

FolderWatch::FolderWatch(std::vector<std::string> folders)
    : folders_(std::move(folders)),
      events_(::inotify_init1(IN_NONBLOCK | IN_CLOEXEC)),
      wake_(::eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC)) {
  watch_folders();
}

FolderWatch::~FolderWatch() {
  for (const int descriptor : {events_, wake_})
    if (descriptor >= 0) ::close(descriptor);
}

// A folder that is not there yet is tried again at the next wait; a second watch on one is the first.
void FolderWatch::watch_folders() {
  if (events_ < 0) return;
  for (const std::string& folder : folders_)
    (void)::inotify_add_watch(events_, folder.c_str(), IN_CLOSE_WRITE | IN_MOVED_TO | IN_DELETE | IN_MOVED_FROM);
}

void FolderWatch::wait(int at_most_ms) {
  watch_folders();
  std::array<pollfd, 2> ready{pollfd{events_, POLLIN, 0}, pollfd{wake_, POLLIN, 0}};
  if (::poll(ready.data(), ready.size(), at_most_ms) <= 0) return;
  // What happened does not matter: who waits looks at everything.
  std::array<char, 4096> thrown_away{};
  while (events_ >= 0 && ::read(events_, thrown_away.data(), thrown_away.size()) > 0) continue;
  std::uint64_t wakes = 0;
  if (wake_ >= 0 && ::read(wake_, &wakes, sizeof wakes) < 0) return;
}

void FolderWatch::wake() {
  const std::uint64_t one = 1;
  if (wake_ >= 0 && ::write(wake_, &one, sizeof one) < 0) return;  // it is awake already
}

}  // namespace hakea::service
