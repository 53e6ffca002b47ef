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

bool write_all(int descriptor, const void* from, std::size_t bytes) {
  const char* at = static_cast<const char*>(from);
  while (bytes > 0) {
    const auto written = ::write(descriptor, at, bytes);
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    at += written;
    bytes -= static_cast<std::size_t>(written);
  }
  return true;
}

}  // namespace hakea::ingest
