#include "ingest/grid/sample_chunk.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <numeric>

#include "core/base/numbers.h"
#include "core/base/result.h"

namespace hakea::ingest {
namespace {

constexpr double kImplausible = std::numeric_limits<double>::infinity();
constexpr std::size_t kBlock = 128;  // shares summed together, whose numbers stay in the nearest cache

// A Decoding, as far as it can be worked out before the numbers come.
struct Decoder {
  double scale, offset, to_unit, unit_offset;
  double lowest_packed, highest_packed, lowest, highest;
  // Packed values inside these bounds are surely good, which one comparison tells; the others are looked at one by one.
  double good_from, good_to;
  const std::vector<double>& missing;

  explicit Decoder(const Decoding& d)
      : scale(d.scale), offset(d.offset), to_unit(d.to_unit), unit_offset(d.unit_offset), missing(d.missing) {
    constexpr double kInfinity = std::numeric_limits<double>::infinity();
    lowest_packed = d.valid_min.value_or(-kInfinity);
    highest_packed = d.valid_max.value_or(kInfinity);
    const bool has_range = d.lowest < d.highest;
    lowest = has_range ? d.lowest : -kInfinity;
    highest = has_range ? d.highest : kInfinity;
    const auto packed_of = [&](double value) { return ((value - unit_offset) / to_unit - offset) / scale; };
    good_from = std::min(packed_of(lowest), packed_of(highest));
    good_to = std::max(packed_of(lowest), packed_of(highest));
    const double margin = 1e-9 * std::max(std::fabs(good_from), std::fabs(good_to));
    good_from = std::max(good_from + margin, lowest_packed);
    good_to = std::min(good_to - margin, highest_packed);
    const auto is_good = [&](double packed) { return packed >= good_from && packed <= good_to; };
    if (!(good_from <= good_to) || std::any_of(missing.begin(), missing.end(), is_good)) {
      good_from = kInfinity;  // none is
      good_to = -kInfinity;
    }
  }

  double value(double packed) const { return (packed * scale + offset) * to_unit + unit_offset; }
  // NaN where it is missing, infinite where it is implausible.
  double careful_value(double packed) const {
    if (packed >= good_from && packed <= good_to) return value(packed);
    // NaN fails the comparisons and is missing
    if (!(packed >= lowest_packed && packed <= highest_packed)) return kNaN;
    if (std::find(missing.begin(), missing.end(), packed) != missing.end()) return kNaN;
    return value(packed) >= lowest && value(packed) <= highest ? value(packed) : kImplausible;
  }
};

// A block of shares: the packed numbers of their cells and what becomes of them.
struct Block {
  std::array<std::array<double, kBlock>, SharedCells::kMost> packed;  // by cell
  std::array<double, kBlock> doubt;                                   // not above 0 where all are surely good
};

// The sums of `count` shares with so many cells. Written without a choice, so that the compiler makes vector instructions of it.
template <std::size_t kCells>
void add_up(const Decoder& decoder, const std::array<const float*, SharedCells::kMost>& weights, std::size_t count, Block& block,
            double* sums) {
  const double scale = decoder.scale, offset = decoder.offset, to_unit = decoder.to_unit, unit_offset = decoder.unit_offset;
  const double from = decoder.good_from, to = decoder.good_to;
  for (std::size_t i = 0; i < count; ++i) {
    double sum = 0, lowest = block.packed[0][i], highest = lowest;
    for (std::size_t k = 0; k < kCells; ++k) {
      const double packed = block.packed[k][i];
      sum += static_cast<double>(weights[k][i]) * ((packed * scale + offset) * to_unit + unit_offset);
      lowest = packed < lowest ? packed : lowest;
      highest = packed > highest ? packed : highest;
    }
    const double below = from - lowest, above = highest - to;
    block.doubt[i] = below > above ? below : above;  // a number that is not finite may not show here, but makes a sum that is not
    sums[i] = sum;
  }
}

void add_up(const Decoder& decoder, std::size_t cells, const std::array<const float*, SharedCells::kMost>& weights,
            std::size_t count, Block& block, double* sums) {
  switch (cells) {
    case 1: return add_up<1>(decoder, weights, count, block, sums);
    case 2: return add_up<2>(decoder, weights, count, block, sums);
    case 3: return add_up<3>(decoder, weights, count, block, sums);
    default: return add_up<4>(decoder, weights, count, block, sums);
  }
}

}  // namespace

void SharedCells::add(const Cell& cell) {
  HAKEA_EXPECT(shares_ > 0 && used_ < kMost);
  if (used_ == most_) {  // the first share with so many: the others have their first again
    rows_[most_] = rows_.front();
    std::fill(rows_[most_].weight.begin(), rows_[most_].weight.end(), 0.0F);
    ++most_;
  }
  const auto put = [&](Row& row, float weight) {
    row.y.resize(shares_);
    row.x.resize(shares_);
    row.weight.resize(shares_);
    row.y.back() = static_cast<std::uint32_t>(cell.y);
    row.x.back() = static_cast<std::uint32_t>(cell.x);
    row.weight.back() = weight;
  };
  if (used_ == 0)
    for (std::size_t k = 1; k < most_; ++k) put(rows_[k], 0);
  put(rows_[used_++], cell.weight);
}

SharedCells::Offsets SharedCells::offsets(Strides strides) const {
  Offsets offsets;
  for (std::size_t k = 0; k < most_; ++k) {
    const Row& row = rows_[k];
    offsets[k].resize(shares_);
    for (std::size_t i = 0; i < shares_; ++i)
      offsets[k][i] = static_cast<std::uint32_t>(row.y[i] * strides.y + row.x[i] * strides.x);
  }
  return offsets;
}

ChunkSums sample_chunk(ChunkValues& values, const Decoding& decoding, const SharedCells& cells, Strides strides,
                       const std::vector<std::size_t>& planes) {
  const Decoder decoder(decoding);
  // A block that is cut short at the edge of its variable has strides of its own.
  const bool is_laid_out = strides == cells.strides();
  const SharedCells::Offsets own = is_laid_out ? SharedCells::Offsets{} : cells.offsets(strides);
  const SharedCells::Offsets& offsets = is_laid_out ? cells.offsets() : own;
  const std::size_t shares = cells.shares(), most = cells.cells();
  const std::size_t size = std::accumulate(values.extent.begin(), values.extent.end(), std::size_t{1}, std::multiplies<>());
  if (planes.size() * shares * most > size / 8) values.put_together();

  ChunkSums result{Unset<double>(planes.size() * shares), {}};
  values.visit([&](const auto at) {
    Block block;
    double* sums = result.sums.data();
    for (const std::size_t start : planes) {
      for (std::size_t first = 0; first < shares; first += kBlock) {
        const std::size_t count = std::min(kBlock, shares - first);
        std::array<const float*, SharedCells::kMost> weights{};
        for (std::size_t k = 0; k < most; ++k) {
          weights[k] = cells.weights(k) + first;
          const std::uint32_t* const offset = offsets[k].data() + first;
          for (std::size_t i = 0; i < count; ++i) block.packed[k][i] = at(start + offset[i]);
        }
        add_up(decoder, most, weights, count, block, sums);
        for (std::size_t i = 0; i < count; ++i, ++sums) {
          if (block.doubt[i] <= 0 && std::isfinite(*sums)) continue;
          double total = 0;
          Lost lost;
          for (std::size_t k = 0; k < most; ++k) {
            const float weight = weights[k][i];
            const double value = decoder.careful_value(block.packed[k][i]);
            if (std::isfinite(value))
              total += static_cast<double>(weight) * value;
            else
              (std::isnan(value) ? lost.missing : lost.implausible) += weight;
          }
          *sums = total;
          if (lost.missing > 0 || lost.implausible > 0)
            result.lost.emplace_back(static_cast<std::size_t>(sums - result.sums.data()), lost);
        }
      }
    }
  });
  return result;
}

}  // namespace hakea::ingest
