#include "service/http/kept_file.h"

#include <sys/mman.h>
#include <sys/sendfile.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>

#include "ingest/format/scratch_file.h"

namespace hakea::service {
namespace {

constexpr std::size_t kWorth = 32 * 1024;
constexpr int kAtOnce = 64;
std::atomic<int> open_files = 0;

}  // namespace

std::shared_ptr<const KeptFile> KeptFile::of(std::string_view bytes) {
  if (bytes.size() < kWorth) return nullptr;
  if (++open_files > kAtOnce) {
    --open_files;
    return nullptr;
  }
  const int descriptor = memfd_create("answer", MFD_CLOEXEC);
  if (descriptor < 0) {
    --open_files;
    return nullptr;
  }
  std::shared_ptr<const KeptFile> file(new KeptFile(descriptor, bytes.size()));
  return ingest::write_all(descriptor, bytes.data(), bytes.size()) ? file : nullptr;
}

KeptFile::~KeptFile() {
  ::close(descriptor_);
  --open_files;
}

std::size_t KeptFile::send_to(int socket) const {
  off_t at = 0;
  return static_cast<std::size_t>(std::max<ssize_t>(0, ::sendfile(socket, descriptor_, &at, size_)));
}

}  // namespace hakea::service
