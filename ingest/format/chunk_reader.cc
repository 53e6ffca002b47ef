#include "ingest/format/chunk_reader.h"

#include <fmt/format.h>
#include <hdf5.h>
#include <libdeflate.h>
#include <netcdf.h>

#include <algorithm>
#include <limits>
#include <optional>
#include <utility>

namespace hakea::ingest {

// Members of ChunkReader::State, which has a name outside this file: so do these.

// An HDF5 identifier and how it is given back.
class Hdf5Id {
 public:
  Hdf5Id() = default;
  Hdf5Id(hid_t id, herr_t (*close)(hid_t)) : id_(id), close_(close) {}
  Hdf5Id(Hdf5Id&& other) noexcept : id_(std::exchange(other.id_, -1)), close_(other.close_) {}
  Hdf5Id& operator=(Hdf5Id&& other) noexcept {
    std::swap(id_, other.id_);
    std::swap(close_, other.close_);
    return *this;
  }
  ~Hdf5Id() {
    if (id_ >= 0) close_(id_);
  }
  hid_t get() const { return id_; }
  explicit operator bool() const { return id_ >= 0; }

 private:
  hid_t id_ = -1;
  herr_t (*close_)(hid_t) = nullptr;
};

// What must be known to decode the chunks of an HDF5 variable here.
struct DirectAccess {
  Hdf5Id file, dataset;
  bool is_big_endian = false;
  int shuffle_filter = -1, deflate_filter = -1;  // place in the pipeline
  double fill = 0;
};

namespace {

constexpr std::size_t kLargestChunk = std::size_t{512} << 20;
constexpr std::size_t kLibraryBlock = std::size_t{1} << 20;
constexpr const char* kRepeat = "fetch the file again";

std::size_t bytes_of(ValueType type) {
  switch (type) {
    case ValueType::int8:
    case ValueType::uint8: return 1;
    case ValueType::int16:
    case ValueType::uint16: return 2;
    case ValueType::int32:
    case ValueType::uint32:
    case ValueType::float32: return 4;
    case ValueType::int64:
    case ValueType::uint64:
    case ValueType::float64: return 8;
    case ValueType::text:
    case ValueType::other: return 0;
  }
  return 0;
}

// The type as which bytes are read that are unsigned in spite of their storage.
ValueType unsigned_type(ValueType stored) {
  return stored == ValueType::int8 ? ValueType::uint8 : stored == ValueType::int16 ? ValueType::uint16 : ValueType::uint32;
}

std::size_t product(std::span<const std::size_t> lengths, std::size_t start) {
  for (const std::size_t length : lengths) {
    if (__builtin_mul_overflow(start, length, &start)) return SIZE_MAX;
  }
  return start;
}

// The two ways in which HDF5 stores a number of our types, and how it looks in memory.
struct StoredType {
  hid_t little, big, memory;
};
StoredType stored_type(ValueType type) {
  switch (type) {
    case ValueType::int8: return {H5T_STD_I8LE, H5T_STD_I8BE, H5T_NATIVE_INT8};
    case ValueType::uint8: return {H5T_STD_U8LE, H5T_STD_U8BE, H5T_NATIVE_UINT8};
    case ValueType::int16: return {H5T_STD_I16LE, H5T_STD_I16BE, H5T_NATIVE_INT16};
    case ValueType::uint16: return {H5T_STD_U16LE, H5T_STD_U16BE, H5T_NATIVE_UINT16};
    case ValueType::int32: return {H5T_STD_I32LE, H5T_STD_I32BE, H5T_NATIVE_INT32};
    case ValueType::uint32: return {H5T_STD_U32LE, H5T_STD_U32BE, H5T_NATIVE_UINT32};
    case ValueType::int64: return {H5T_STD_I64LE, H5T_STD_I64BE, H5T_NATIVE_INT64};
    case ValueType::uint64: return {H5T_STD_U64LE, H5T_STD_U64BE, H5T_NATIVE_UINT64};
    case ValueType::float32: return {H5T_IEEE_F32LE, H5T_IEEE_F32BE, H5T_NATIVE_FLOAT};
    default: return {H5T_IEEE_F64LE, H5T_IEEE_F64BE, H5T_NATIVE_DOUBLE};
  }
}

// Nullopt when the variable is stored in a way that only the library knows.
std::optional<DirectAccess> direct_access(const NetcdfFile& file, const Variable& variable,
                                          const std::vector<std::size_t>& shape) {
  DirectAccess direct;
  // NetCDF-C has the same file open; the default access agrees with whatever it chose
  direct.file = Hdf5Id(H5Fopen(file.stable_path().c_str(), H5F_ACC_RDONLY, H5P_DEFAULT), H5Fclose);
  if (!direct.file) return std::nullopt;
  direct.dataset = Hdf5Id(H5Dopen2(direct.file.get(), ("/" + variable.name).c_str(), H5P_DEFAULT), H5Dclose);
  if (!direct.dataset) return std::nullopt;

  const Hdf5Id type(H5Dget_type(direct.dataset.get()), H5Tclose);
  const StoredType stored = stored_type(variable.type);
  direct.is_big_endian = H5Tequal(type.get(), stored.little) <= 0;
  if (direct.is_big_endian && H5Tequal(type.get(), stored.big) <= 0) return std::nullopt;

  const Hdf5Id creation(H5Dget_create_plist(direct.dataset.get()), H5Pclose);
  std::vector<hsize_t> chunk(variable.chunk_shape.size());
  if (H5Pget_layout(creation.get()) != H5D_CHUNKED ||
      H5Pget_chunk(creation.get(), static_cast<int>(chunk.size()), chunk.data()) != static_cast<int>(chunk.size()) ||
      !std::equal(chunk.begin(), chunk.end(), variable.chunk_shape.begin())) {
    return std::nullopt;
  }
  // a variable with fewer records than its unlimited dimension: the library fills up the rest
  const Hdf5Id space(H5Dget_space(direct.dataset.get()), H5Sclose);
  std::vector<hsize_t> extent(chunk.size());
  if (H5Sget_simple_extent_ndims(space.get()) != static_cast<int>(chunk.size()) ||
      H5Sget_simple_extent_dims(space.get(), extent.data(), nullptr) < 0 ||
      !std::equal(extent.begin(), extent.end(), shape.begin())) {
    return std::nullopt;
  }
  const int filters = H5Pget_nfilters(creation.get());
  for (int i = 0; i < filters; ++i) {
    unsigned flags = 0;
    std::size_t values = 0;
    const H5Z_filter_t id =
        H5Pget_filter2(creation.get(), static_cast<unsigned>(i), &flags, &values, nullptr, 0, nullptr, nullptr);
    if (id == H5Z_FILTER_SHUFFLE && direct.shuffle_filter < 0 && direct.deflate_filter < 0)
      direct.shuffle_filter = i;
    else if (id == H5Z_FILTER_DEFLATE && direct.deflate_filter < 0)
      direct.deflate_filter = i;
    else
      return std::nullopt;
  }

  H5D_fill_value_t defined = H5D_FILL_VALUE_UNDEFINED;
  H5Pfill_value_defined(creation.get(), &defined);
  // without a fill value what was never written has no value; the library's own would be a zero that nobody wrote
  if (defined != H5D_FILL_VALUE_USER_DEFINED || H5Pget_fill_value(creation.get(), H5T_NATIVE_DOUBLE, &direct.fill) < 0)
    direct.fill = std::numeric_limits<double>::quiet_NaN();
  return direct;
}

// Blocks of about a megabyte, whole in the fastest dimensions.
std::vector<std::size_t> library_blocks(const std::vector<std::size_t>& shape, std::size_t value_bytes) {
  std::vector<std::size_t> block(shape.size(), 1);
  std::size_t left = kLibraryBlock / value_bytes;
  for (std::size_t d = shape.size(); d-- > 0 && left > 1;) {
    block[d] = std::max<std::size_t>(1, std::min(shape[d], left));
    left /= block[d];
    if (block[d] < shape[d]) break;
  }
  return block;
}

}  // namespace

struct ChunkReader::State {
  std::string where;
  NetcdfFile::Handle handle;
  ValueType type = ValueType::other;
  std::size_t value_bytes = 0;
  std::vector<std::size_t> shape, chunk;
  std::optional<DirectAccess> direct;

  Error damaged(std::string what) const { return {ErrorKind::unreadable, "damaged", where, std::move(what), kRepeat}; }
};

ChunkReader::ChunkReader(std::unique_ptr<State> state) : state_(std::move(state)) {}
ChunkReader::ChunkReader(ChunkReader&&) noexcept = default;
ChunkReader& ChunkReader::operator=(ChunkReader&&) noexcept = default;
ChunkReader::~ChunkReader() = default;

const std::vector<std::size_t>& ChunkReader::chunk_shape() const { return state_->chunk; }
std::size_t ChunkReader::chunk_bytes() const { return product(state_->chunk, state_->value_bytes); }
bool ChunkReader::is_direct() const { return state_->direct.has_value(); }

Result<ChunkReader> ChunkReader::open(const NetcdfFile& file, std::size_t index) {
  const Variable& variable = file.variables().at(index);
  auto state = std::make_unique<State>();
  state->where = file.path() + ": " + variable.name;
  state->handle = file.handle(index);
  const double span = variable.unsigned_span();
  state->type = span > 0 ? unsigned_type(variable.type) : variable.type;
  state->value_bytes = bytes_of(variable.type);
  state->shape = file.shape_of(index);
  if (!variable.unreadable.empty() || state->value_bytes == 0) {
    return Error{ErrorKind::unsupported, "unreadable", state->where,
                 variable.unreadable.empty() ? "it holds text, not numbers" : variable.unreadable, ""};
  }
  if (variable.chunk_shape.empty()) {
    state->chunk = library_blocks(state->shape, state->value_bytes);
  } else {
    state->chunk = variable.chunk_shape;
    if (std::find(state->chunk.begin(), state->chunk.end(), 0U) != state->chunk.end())
      return state->damaged("a chunk has no extent");
    state->direct = direct_access(file, variable, state->shape);
    if (state->direct && state->direct->fill < 0) state->direct->fill += span;
  }
  if (const std::size_t bytes = product(state->chunk, state->value_bytes); bytes > kLargestChunk) {
    return Error{ErrorKind::unsupported, "chunk_too_large", state->where, fmt::format("one chunk holds {} MiB", bytes >> 20),
                 "write it in smaller chunks, such as one time step of the whole grid: nccopy -c"};
  }
  return ChunkReader(std::move(state));
}

Result<StoredChunk> ChunkReader::fetch(std::span<const std::size_t> origin) const {
  HAKEA_EXPECT(origin.size() == state_->shape.size());
  StoredChunk stored;
  stored.origin.assign(origin.begin(), origin.end());
  if (state_->direct) {
    const hid_t dataset = state_->direct->dataset.get();
    const std::vector<hsize_t> at(origin.begin(), origin.end());
    stored.extent = state_->chunk;
    hsize_t bytes = 0;
    if (H5Dget_chunk_storage_size(dataset, at.data(), &bytes) < 0) {
      // it fails for a chunk that was never written, too; the slower question tells this from damage
      unsigned skipped = 0;
      haddr_t address = HADDR_UNDEF;
      if (H5Dget_chunk_info_by_coord(dataset, at.data(), &skipped, &address, &bytes) < 0 || address != HADDR_UNDEF)
        return state_->damaged("the place of a chunk cannot be found");
      bytes = 0;
    }
    stored.absent = bytes == 0;
    if (stored.absent) return stored;
    // deflate adds at most a little to what cannot be compressed
    if (const std::size_t decoded = chunk_bytes(); bytes > decoded + decoded / 100 + 1024)
      return state_->damaged(fmt::format("a chunk of {} bytes claims {} in the file", decoded, bytes));
    stored.bytes = Bytes(static_cast<std::size_t>(bytes));
    if (H5Dread_chunk(dataset, H5P_DEFAULT, at.data(), &stored.skipped_filters, stored.bytes.data()) < 0)
      return state_->damaged("a chunk cannot be read");
    return stored;
  }
  stored.extent.resize(origin.size());
  for (std::size_t d = 0; d < origin.size(); ++d) {
    HAKEA_EXPECT(origin[d] < state_->shape[d]);
    stored.extent[d] = std::min(state_->chunk[d], state_->shape[d] - origin[d]);
  }
  stored.bytes = Bytes(product(stored.extent, state_->value_bytes));
  static constexpr std::size_t kScalar = 0;
  const int status = nc_get_vara(state_->handle.group, state_->handle.variable, origin.empty() ? &kScalar : origin.data(),
                                 origin.empty() ? &kScalar : stored.extent.data(), stored.bytes.data());
  if (status != NC_NOERR) return state_->damaged(fmt::format("cannot be read ({})", nc_strerror(status)));
  return stored;
}

Result<ChunkValues> ChunkReader::decode(StoredChunk&& stored) const {
  ChunkValues values;
  values.type_ = state_->type;
  values.origin = std::move(stored.origin);
  values.extent = std::move(stored.extent);
  const std::size_t size = state_->value_bytes, count = product(values.extent, 1);
  bool is_big_endian = std::endian::native == std::endian::big, is_shuffled = false;
  if (state_->direct) {
    if (stored.absent) {
      values.constant_ = true;
      values.fill_ = state_->direct->fill;
      return values;
    }
    const auto applied = [&](int filter) { return filter >= 0 && (stored.skipped_filters >> filter & 1U) == 0; };
    is_big_endian = state_->direct->is_big_endian;
    is_shuffled = applied(state_->direct->shuffle_filter) && size > 1;
    if (applied(state_->direct->deflate_filter)) {
      struct Release {
        void operator()(libdeflate_decompressor* d) const { libdeflate_free_decompressor(d); }
      };
      thread_local const std::unique_ptr<libdeflate_decompressor, Release> decompressor(libdeflate_alloc_decompressor());
      values.bytes_ = Bytes(count * size);
      if (libdeflate_zlib_decompress(decompressor.get(), stored.bytes.data(), stored.bytes.size(), values.bytes_.data(),
                                     values.bytes_.size(), nullptr) != LIBDEFLATE_SUCCESS) {
        return state_->damaged("a chunk cannot be decompressed");
      }
    }
  }
  if (values.bytes_.size() == 0) values.bytes_ = std::move(stored.bytes);
  if (values.bytes_.size() != count * size)
    return state_->damaged(fmt::format("a chunk of {} bytes holds {}", count * size, values.bytes_.size()));
  // Shuffling puts byte k of all values in a row (HDF5's shuffle filter); k counts in the order of the file.
  values.stride_ = is_shuffled ? 1 : size;
  for (std::size_t k = 0; k < size; ++k) values.first_[k] = (is_big_endian ? size - 1 - k : k) * (is_shuffled ? count : 1);
  values.is_plain_ = values.stride_ == size && is_big_endian == (std::endian::native == std::endian::big);
  return values;
}

template <class T>
void ChunkValues::put_together_as() {
  const std::size_t count = bytes_.size() / sizeof(T);
  Bytes together(bytes_.size());
  // Byte lanes known to the compiler: it turns the loop into vector instructions.
  std::array<const unsigned char*, sizeof(T)> lane;
  for (std::size_t k = 0; k < sizeof(T); ++k)
    lane[k] = bytes_.data() + first_[std::endian::native == std::endian::little ? k : sizeof(T) - 1 - k];
  unsigned char* const to = together.data();
  if (stride_ == 1) {
    for (std::size_t i = 0; i < count; ++i)
      for (std::size_t k = 0; k < sizeof(T); ++k) to[i * sizeof(T) + k] = lane[k][i];
  } else {
    for (std::size_t i = 0; i < count; ++i)
      for (std::size_t k = 0; k < sizeof(T); ++k) to[i * sizeof(T) + k] = lane[k][i * sizeof(T)];
  }
  bytes_ = std::move(together);
  is_plain_ = true;
}

void ChunkValues::put_together() {
  if (is_plain_ || constant_) return;
  switch (bytes_of(type_)) {
    case 1: is_plain_ = true; break;
    case 2: put_together_as<std::uint16_t>(); break;
    case 4: put_together_as<std::uint32_t>(); break;
    default: put_together_as<std::uint64_t>();
  }
}

}  // namespace hakea::ingest
