// One NetCDF or GRIB file, opened for reading: what it contains, and its raw numbers.
//
// The only door to NetCDF-C. A file is opened only when it is whole: a classic file shorter than its header implies is
// refused, since the library would read the missing part as zeros. Numbers come raw, before unpacking and before missing
// values are recognised. Not thread-safe; NetCDF-C is used by one thread of one process (the reader child).
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"

namespace hakea::ingest {

enum class ValueType : std::uint8_t { int8, uint8, int16, uint16, int32, uint32, int64, uint64, float32, float64, text, other };

struct Attribute {
  std::string name;
  bool is_text = false;
  std::string text;             // text attributes, NC_CHAR and NC_STRING alike
  std::vector<double> numbers;  // numeric attributes
  bool is_real = false;         // its numbers are of a floating-point type
};

struct Dimension {
  std::string name;  // with its group, like its coordinate variable: "forecast/time"
  std::size_t length = 0;
  bool is_unlimited = false;
};

struct Variable {
  std::string name;                     // with its group: "forecast/t2m"; no leading slash
  std::vector<std::size_t> dimensions;  // indices into dimensions(), slowest first
  ValueType type = ValueType::other;
  std::vector<Attribute> attributes;
  std::vector<std::size_t> chunk_shape;  // empty when contiguous or classic
  std::string unreadable;                // why its numbers cannot be read ("filter 32015 is not known"), empty when they can

  const Attribute* attribute(std::string_view name) const;
  std::string text(std::string_view name) const;  // "" when absent
  std::optional<double> number(std::string_view name) const;
  // What makes negative numbers of signed storage the positive ones that "_Unsigned" says they are (NetCDF User's Guide,
  // appendix A); 0 where it does not. read() and ChunkReader have done so; attributes still want it.
  double unsigned_span() const;
};

class NetcdfFile {
 public:
  // `path` is that of a local file, whatever its name; an address (a scheme, a # with a mode) is refused.
  // Errors: unreadable (not NetCDF, truncated, damaged), unsupported (Zarr and the like), each naming the file and what
  // would be accepted.
  // With Need::headers the values of a GRIB file are not decoded, and read as zeros.
  enum class Need : std::uint8_t { values, headers };
  static Result<NetcdfFile> open(const std::string& path, Need need = Need::values);
  NetcdfFile(NetcdfFile&&) noexcept;
  NetcdfFile& operator=(NetcdfFile&&) noexcept;
  ~NetcdfFile();

  // `observer` is told the path whenever a file is about to be opened or read, so that a crash can be laid at its door.
  static void observe(std::function<void(const std::string& path)> observer);

  const std::string& path() const;
  // "netcdf-classic", "netcdf-64bit-offset", "netcdf-cdf5", "netcdf-4"; "grib1", "grib2" where it was laid out as NetCDF
  const std::string& format() const;
  const std::vector<Dimension>& dimensions() const;
  const std::vector<Variable>& variables() const;
  const std::vector<Attribute>& attributes() const;
  std::optional<std::size_t> find(std::string_view variable) const;
  // What `name` means when an attribute of the variable `from` names it: a variable of its own group, else of the nearest
  // parent that has one; "/group/name" is taken from the root.
  std::optional<std::size_t> resolve(std::size_t from, std::string_view name) const;
  std::size_t size_of(std::size_t variable) const;                // number of values, SIZE_MAX when it does not fit
  std::vector<std::size_t> shape_of(std::size_t variable) const;  // lengths of its dimensions

  // Raw numbers of a hyperslab (counts of variables()[variable].dimensions), row-major. At most 2^27 values at once.
  Result<std::vector<double>> read(std::size_t variable, std::span<const std::size_t> start,
                                   std::span<const std::size_t> count) const;
  Result<std::vector<double>> read_all(std::size_t variable) const;
  // A char variable as strings along its last dimension, or a string variable.
  Result<std::vector<std::string>> read_text(std::size_t variable) const;

  // For ChunkReader only: the number of the file's group and variable in NetCDF-C, and the file as a path that still means
  // the same file after another has been renamed onto its name.
  struct Handle {
    int group = -1, variable = -1;
  };
  Handle handle(std::size_t variable) const;
  const std::string& stable_path() const;

 private:
  struct State;
  explicit NetcdfFile(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace hakea::ingest
