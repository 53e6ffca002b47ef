// The sums that the points of one tile of the grid take from a chunk.
#pragma once

#include <array>
#include <cstdint>
#include <utility>
#include <vector>

#include "ingest/format/chunk_reader.h"
#include "ingest/format/unset.h"
#include "ingest/grid/sample.h"

namespace hakea::ingest {

// How many numbers further in a chunk the next cell along y and along x stands.
struct Strides {
  std::size_t y = 0, x = 0;
  bool operator==(const Strides&) const = default;
};

// The cells of a chunk that points share in, laid out for the loops over them: cell k of all shares in a row. Shares with
// fewer cells than others have their first again, with weight 0.
class SharedCells {
 public:
  struct Cell {
    std::size_t y = 0, x = 0;  // inside the chunk
    float weight = 0;
  };
  static constexpr std::size_t kMost = 4;
  using Offsets = std::array<std::vector<std::uint32_t>, kMost>;

  explicit SharedCells(Strides strides) : strides_(strides) {}

  void begin_share() {
    ++shares_;
    used_ = 0;
  }
  void add(const Cell& cell);  // to the share begun last; at most kMost
  // When all are there.
  void lay_out() { offsets_ = offsets(strides_); }

  std::size_t shares() const { return shares_; }
  std::size_t cells() const { return most_; }  // of each share
  const float* weights(std::size_t cell) const { return rows_[cell].weight.data(); }
  Offsets offsets(Strides strides) const;
  // Those of the strides that were expected.
  const Offsets& offsets() const { return offsets_; }
  Strides strides() const { return strides_; }

 private:
  struct Row {
    std::vector<std::uint32_t> y, x;
    std::vector<float> weight;
  };
  Strides strides_;
  std::size_t shares_ = 0, used_ = 0, most_ = 0;
  std::array<Row, kMost> rows_;
  Offsets offsets_;
};

// The weight of cells that have no value.
struct Lost {
  float missing = 0, implausible = 0;
};

struct ChunkSums {
  Unset<double> sums;                              // [plane][share], of the cells that have a value; never -0
  std::vector<std::pair<std::size_t, Lost>> lost;  // of which sum
};

// `planes`: the numbers of the chunk at which maps of its cells begin, `strides` how they stand in such a map.
ChunkSums sample_chunk(ChunkValues& values, const Decoding& decoding, const SharedCells& cells, Strides strides,
                       const std::vector<std::size_t>& planes);

}  // namespace hakea::ingest
