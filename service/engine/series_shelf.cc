#include "service/engine/series_shelf.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

#include "ingest/format/scratch_file.h"

namespace hakea::service {
namespace {

constexpr std::size_t kFileBlock = 4096;  // a file system gives back whole blocks only

std::size_t whole_blocks(std::size_t bytes) { return (bytes + kFileBlock - 1) / kFileBlock * kFileBlock; }

std::string folder() {
  std::error_code failed;
  return std::filesystem::temp_directory_path(failed).string();
}

}  // namespace

SeriesShelf::~SeriesShelf() {
  if (file_ >= 0) ::close(file_);
}

Result<SeriesShelf::PiecePtr> SeriesShelf::put(std::string_view bytes) {
  const std::lock_guard lock(putting_);
  if (file_ < 0) file_ = ingest::scratch_file();
  if (file_ < 0 || !ingest::write_all_at(file_, bytes.data(), bytes.size(), end_))
    return Error{ErrorKind::failed, "unwritable", folder(),
                 fmt::format("the members of an ensemble too large to be held in memory cannot be written there: {}",
                             std::strerror(errno)),
                 "make room, or name a roomier folder in TMPDIR"};
  auto piece = std::make_shared<const Piece>(shared_from_this(), end_, bytes.size());
  end_ += whole_blocks(bytes.size());
  return piece;
}

// Where a file system cannot take the room back, it is taken back with the file.
SeriesShelf::Piece::~Piece() {
  ::fallocate(shelf_->file_, FALLOC_FL_PUNCH_HOLE | FALLOC_FL_KEEP_SIZE, static_cast<off_t>(offset_),
              static_cast<off_t>(whole_blocks(bytes_)));
}

Result<std::string> SeriesShelf::Piece::read() const {
  std::string bytes(bytes_, '\0');
  if (ingest::read_all_at(shelf_->file_, bytes.data(), bytes_, offset_)) return bytes;
  return Error{ErrorKind::unreadable, "unreadable", folder(),
               fmt::format("the members of an ensemble that were put there cannot be read again: {}", std::strerror(errno)),
               "check the disk of the temporary folder (TMPDIR); a restart reads them from the databases"};
}

}  // namespace hakea::service
