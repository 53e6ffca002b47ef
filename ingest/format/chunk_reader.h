// The chunks of one variable: fetched by the thread that owns the file, decoded by any.
//
// NetCDF-C fetches, inflates and un-shuffles on one thread. For chunked NetCDF-4 variables with deflate and shuffle only,
// the stored bytes are taken from HDF5 as they are and inflated here, so that decoding runs on several threads; values
// are then picked out of the shuffled bytes where they are needed, or all put together when most are. Everything else goes
// through the library, in blocks that stand for chunks.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <cstring>
#include <limits>
#include <memory>
#include <span>
#include <vector>

#include "core/base/result.h"
#include "ingest/format/netcdf_file.h"
#include "ingest/format/unset.h"

namespace hakea::ingest {

// A chunk as it lies in the file.
struct StoredChunk {
  std::vector<std::size_t> origin;  // index of its first value in the variable
  std::vector<std::size_t> extent;  // its shape; an HDF5 chunk at the edge of a variable is stored whole
  Bytes bytes;
  std::uint32_t skipped_filters = 0;  // bit i: filter i was not applied to this chunk
  bool absent = false;                // never written: every value is the fill value
};

// The numbers of one chunk as the file holds them, row-major over `extent`.
class ChunkValues {
 public:
  std::vector<std::size_t> origin, extent;

  // Puts shuffled or turned bytes back into numbers, all at once: dearer than picking a few, cheaper than picking many.
  void put_together();

  // Calls use(at) where at(i) is value number i as double. One call for many values: the type is decided once.
  template <class Use>
  void visit(const Use& use) const;

 private:
  friend class ChunkReader;

  // Byte k (least significant first) of value i stands at bytes_[first_[k] + i * stride_]: this covers both byte orders,
  // shuffled and plain.
  template <class T>
  struct At {
    std::array<const unsigned char*, sizeof(T)> byte;
    std::size_t stride;
    double operator()(std::size_t i) const {
      using Bits = std::conditional_t<sizeof(T) == 8, std::uint64_t, std::uint32_t>;
      Bits bits = 0;
      for (std::size_t k = 0; k < sizeof(T); ++k) bits |= static_cast<Bits>(byte[k][i * stride]) << (8 * k);
      if constexpr (sizeof(T) == sizeof(Bits))
        return static_cast<double>(std::bit_cast<T>(bits));
      else
        return static_cast<double>(static_cast<T>(bits));
    }
  };
  // The numbers as this machine has them.
  template <class T>
  struct Plain {
    const unsigned char* bytes;
    double operator()(std::size_t i) const {
      T value;
      std::memcpy(&value, bytes + i * sizeof(T), sizeof(T));
      return static_cast<double>(value);
    }
  };
  template <class T>
  void put_together_as();
  template <class T, class Use>
  void visit_as(const Use& use) const {
    if (is_plain_) return use(Plain<T>{bytes_.data()});
    At<T> at{{}, stride_};
    for (std::size_t k = 0; k < sizeof(T); ++k) at.byte[k] = bytes_.data() + first_[k];
    use(at);
  }

  ValueType type_ = ValueType::other;
  Bytes bytes_;
  std::array<std::size_t, 8> first_{};
  std::size_t stride_ = 1;
  bool is_plain_ = false;  // whole numbers in this machine's order of bytes
  bool constant_ = false;
  double fill_ = 0;
};

class ChunkReader {
 public:
  // Errors: "unreadable" (text, unknown filter), "chunk_too_large" (a chunk that would not fit in memory).
  static Result<ChunkReader> open(const NetcdfFile& file, std::size_t variable);
  ChunkReader(ChunkReader&&) noexcept;
  ChunkReader& operator=(ChunkReader&&) noexcept;
  ~ChunkReader();

  const std::vector<std::size_t>& chunk_shape() const;
  std::size_t chunk_bytes() const;  // decoded
  bool is_direct() const;           // false: through NetCDF-C

  // The chunk whose first value stands at `origin`, each index a multiple of the chunk's shape. Only on the file's thread.
  // Errors: "damaged".
  Result<StoredChunk> fetch(std::span<const std::size_t> origin) const;
  // On any thread. Errors: "damaged".
  Result<ChunkValues> decode(StoredChunk&& stored) const;

 private:
  struct State;
  explicit ChunkReader(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

template <class Use>
void ChunkValues::visit(const Use& use) const {
  if (constant_) return use([fill = fill_](std::size_t) { return fill; });
  switch (type_) {
    case ValueType::int8: return visit_as<std::int8_t>(use);
    case ValueType::uint8: return visit_as<std::uint8_t>(use);
    case ValueType::int16: return visit_as<std::int16_t>(use);
    case ValueType::uint16: return visit_as<std::uint16_t>(use);
    case ValueType::int32: return visit_as<std::int32_t>(use);
    case ValueType::uint32: return visit_as<std::uint32_t>(use);
    case ValueType::int64: return visit_as<std::int64_t>(use);
    case ValueType::uint64: return visit_as<std::uint64_t>(use);
    case ValueType::float32: return visit_as<float>(use);
    case ValueType::float64: return visit_as<double>(use);
    case ValueType::text:
    case ValueType::other: break;
  }
  use([](std::size_t) { return std::numeric_limits<double>::quiet_NaN(); });
}

}  // namespace hakea::ingest
