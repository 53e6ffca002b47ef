// One NetCDF file, written: dimensions, variables with attributes, values. The writing side of the door to NetCDF-C.
//
// A file is built under another name beside its own and gets its own by close(), so that whoever watches the folder sees it
// whole or not at all; a file without a name (`Form::scratch`) is written where it is, uncompressed. Every value of a file comes
// from its caller: the same calls make the same bytes. Nothing is thrown and no call need be checked: the first fault is kept and
// told by close(). Not thread-safe.
#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "core/base/result.h"

namespace hakea::ingest {

class NetcdfOutput {
 public:
  using Attributes = std::vector<std::pair<std::string, std::string>>;

  // Real numbers as they are, or as 16-bit integers of a step (scale_factor, add_offset): half the room and no noise in the
  // digits that do not count.
  struct Packing {
    double scale, offset;  // scale 0: not packed
  };

  // `scratch` is fast to write and read; `headers` as well, and what is never written takes no room.
  enum class Form { netcdf4, scratch, headers };

  explicit NetcdfOutput(std::filesystem::path path, Form form = Form::netcdf4);
  NetcdfOutput(const NetcdfOutput&) = delete;
  NetcdfOutput& operator=(const NetcdfOutput&) = delete;
  ~NetcdfOutput();  // a file not closed is removed

  void attribute(const std::string& name, const std::string& value);  // of the file
  int dimension(const std::string& name, std::size_t length);
  // A real variable; `chunk` is as long as `dimensions`, or empty for one that is not compressed.
  int variable(const std::string& name, const std::vector<int>& dimensions, const Attributes& attributes,
               const std::vector<std::size_t>& chunk = {}, Packing packing = {0, 0});
  // A variable of floats that are missing (NaN) until they are written.
  int float_variable(const std::string& name, const std::vector<int>& dimensions, const Attributes& attributes);
  // Texts, each as long as the last dimension; shorter ones are padded with zeros.
  int text_variable(const std::string& name, const std::vector<int>& dimensions, const Attributes& attributes);
  void write_texts(int variable, std::span<const std::string> texts, std::size_t length);
  void write_part(int variable, std::span<const std::size_t> start, std::span<const std::size_t> count,
                  std::span<const float> values);
  // All values of a variable, row-major. Values beyond the range of a packing are a fault.
  void write(int variable, std::span<const double> values);

  // Errors: `unwritable`, naming the file and what NetCDF-C or the system says.
  Result<std::filesystem::path> close();

 private:
  void check(int status);
  void put_attributes(int variable, const Attributes& attributes);
  void end_definitions();

  std::filesystem::path path_, under_way_;
  int file_ = -1;
  bool has_values_ = false;
  std::vector<Packing> packing_;  // by variable
  std::string fault_;
};

}  // namespace hakea::ingest
