// Waits until something may have happened in one of some folders.
//
// The kernel's events (inotify) say so at once. Some file systems give none, and a folder may come later, so a wait also ends
// by itself after a while: who waits looks again either way.
#pragma once

#include <string>
#include <vector>

namespace hakea::service {

class FolderWatch {
 public:
  explicit FolderWatch(std::vector<std::string> folders);
  ~FolderWatch();
  FolderWatch(const FolderWatch&) = delete;
  FolderWatch& operator=(const FolderWatch&) = delete;

  // Returns after an event, after wake(), or after so many milliseconds.
  void wait(int at_most_ms);
  // From any thread: ends a wait.
  void wake();

 private:
  void watch_folders();

  std::vector<std::string> folders_;
  int events_ = -1, wake_ = -1;
};

}  // namespace hakea::service
