// The slabs of a run that is too large to be held, in a file without a name, to be taken up again block by block of its points.
//
// An ensemble is read once, whatever its size: while it comes each slab is cut by block and written out; later the slabs of a
// block come in the order they came first, so that RunColumns makes of them what it would have made of the whole.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "service/engine/run_columns.h"

namespace hakea::service {

class SlabSpool {
 public:
  // Block b holds the points from block_ends[b - 1] (0 for the first) to block_ends[b].
  explicit SlabSpool(std::vector<std::size_t> block_ends);
  ~SlabSpool();
  SlabSpool(const SlabSpool&) = delete;
  SlabSpool& operator=(const SlabSpool&) = delete;

  // What the reader calls. A new plan starts afresh.
  void on_plan(const ingest::RunPlan& plan);
  void on_slab(const ingest::Slab& slab);
  // After the last slab. Errors: `unwritable`, no room for the file.
  Result<bool> finish();

  const ingest::RunPlan& plan() const { return plan_; }
  // Tells the columns of the points of a block, which count from 0, what came. May be called from several threads. Errors:
  // `unreadable`, and what finish() of the columns says.
  Result<bool> tell(std::size_t block, RunColumns& columns) const;

 private:
  struct Piece {
    std::size_t offset, bytes;  // in the file
    std::size_t field, first_step, steps, members, levels;
  };
  // How a list of points falls into blocks.
  struct Cut {
    std::shared_ptr<const ingest::PointList> of;
    std::vector<std::vector<std::size_t>> places;                    // by block: places in the list
    std::vector<std::shared_ptr<const ingest::PointList>> by_block;  // points, counted from the block's first
  };
  const Cut& cut(const std::shared_ptr<const ingest::PointList>& points);
  void write(const std::vector<float>& values);
  void fail(const char* doing);

  std::vector<std::size_t> block_ends_;
  ingest::RunPlan plan_;
  std::vector<std::vector<std::pair<Piece, std::shared_ptr<const ingest::PointList>>>> pieces_;  // by block
  std::vector<Cut> cuts_;                                                                        // of the lists that came last
  std::string folder_, waiting_;                                                                 // waiting to be written
  std::size_t written_ = 0;
  int file_ = -1;
  Errors errors_;
};

}  // namespace hakea::service
