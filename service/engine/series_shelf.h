// Series that are too many to be held in memory, in a file without a name (TMPDIR): put away once, taken up again piece by
// piece. What is no longer needed leaves its room in the file. May be used from several threads.
#pragma once

#include <memory>
#include <mutex>
#include <string>
#include <string_view>

#include "core/base/result.h"

namespace hakea::service {

class SeriesShelf : public std::enable_shared_from_this<SeriesShelf> {
 public:
  SeriesShelf() = default;
  ~SeriesShelf();
  SeriesShelf(const SeriesShelf&) = delete;
  SeriesShelf& operator=(const SeriesShelf&) = delete;

  class Piece {
   public:
    Piece(std::shared_ptr<const SeriesShelf> shelf, std::size_t offset, std::size_t bytes)
        : shelf_(std::move(shelf)), offset_(offset), bytes_(bytes) {}
    ~Piece();
    Piece(const Piece&) = delete;
    Piece& operator=(const Piece&) = delete;
    // Error: `unreadable`.
    Result<std::string> read() const;

   private:
    std::shared_ptr<const SeriesShelf> shelf_;
    std::size_t offset_, bytes_;
  };
  using PiecePtr = std::shared_ptr<const Piece>;

  // The shelf must be owned by a shared pointer. Error: `unwritable`, no room for the file.
  Result<PiecePtr> put(std::string_view bytes);

 private:
  std::mutex putting_;
  int file_ = -1;
  std::size_t end_ = 0;
};

}  // namespace hakea::service
