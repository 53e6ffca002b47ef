#include "ingest/format/scratch_file.h"

#include <fcntl.h>
#include <stdlib.h>
#include <unistd.h>

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

}  // namespace hakea::ingest
