#include "ingest/format/scratch_file.h"

#include <fcntl.h>
#include <stdlib.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>
#include <string>

namespace hakea::ingest {

int scratch_file() {
  std::error_code failed;
  const auto folder = std::filesystem::temp_directory_path(failed);
  if (failed) return -1;
  const int unnamed = ::open(folder.c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, 0600);
  if (unnamed >= 0) return unnamed;
  // Not every file system makes files without a name.
  std::string name = (folder / ("hakea-" + std::string(6, 'X'))).string();
  const int named = ::mkostemp(name.data(), O_CLOEXEC);
  if (named >= 0) ::unlink(name.c_str());
  return named;
}

namespace {

// `move(done)` moves what is left, beginning with the byte after those done, and says how much it moved.
template <class Move>
bool move_all(std::size_t bytes, Move move) {
  for (std::size_t done = 0; done < bytes;) {
    const ssize_t moved = move(done);
    if (moved < 0 && errno == EINTR) continue;
    if (moved <= 0) return false;
    done += static_cast<std::size_t>(moved);
  }
  return true;
}

}  // namespace

bool write_all(int descriptor, const void* from, std::size_t bytes) {
  return move_all(bytes,
                  [&](std::size_t done) { return ::write(descriptor, static_cast<const char*>(from) + done, bytes - done); });
}

bool write_all_at(int descriptor, const void* from, std::size_t bytes, std::size_t offset) {
  return move_all(bytes, [&](std::size_t done) {
    return ::pwrite(descriptor, static_cast<const char*>(from) + done, bytes - done, static_cast<off_t>(offset + done));
  });
}

bool read_all_at(int descriptor, void* to, std::size_t bytes, std::size_t offset) {
  return move_all(bytes, [&](std::size_t done) {
    return ::pread(descriptor, static_cast<char*>(to) + done, bytes - done, static_cast<off_t>(offset + done));
  });
}

}  // namespace hakea::ingest
