#include "ingest/format/netcdf_output.h"

#include <fmt/format.h>
#include <netcdf.h>

#include <cmath>
#include <cstdint>
#include <limits>

namespace hakea::ingest {
namespace {

constexpr int kDeflate = 1;               // higher levels take thrice the time for a few per cent
constexpr double kLargestPacked = 32766;  // -32767 is the library's mark of what was never written

}  // namespace

NetcdfOutput::NetcdfOutput(std::filesystem::path path, Form form)
    : path_(std::move(path)),
      under_way_(form != Form::netcdf4 ? path_ : path_.parent_path() / ("." + path_.filename().string() + ".under-way")) {
  check(nc_create(under_way_.c_str(), (form == Form::netcdf4 ? NC_NETCDF4 : NC_64BIT_DATA) | NC_CLOBBER, &file_));
  if (form == Form::headers && fault_.empty()) check(nc_set_fill(file_, NC_NOFILL, nullptr));
}

NetcdfOutput::~NetcdfOutput() {
  if (file_ < 0) return;
  nc_close(file_);
  std::error_code ignored;
  std::filesystem::remove(under_way_, ignored);
}

void NetcdfOutput::check(int status) {
  if (status != NC_NOERR && fault_.empty()) fault_ = nc_strerror(status);
}

void NetcdfOutput::attribute(const std::string& name, const std::string& value) {
  if (fault_.empty()) check(nc_put_att_text(file_, NC_GLOBAL, name.c_str(), value.size(), value.data()));
}

int NetcdfOutput::dimension(const std::string& name, std::size_t length) {
  int id = -1;
  if (fault_.empty()) check(nc_def_dim(file_, name.c_str(), length, &id));
  return id;
}

int NetcdfOutput::variable(const std::string& name, const std::vector<int>& dimensions, const Attributes& attributes,
                           const std::vector<std::size_t>& chunk, Packing packing) {
  int id = -1;
  if (!fault_.empty()) return id;
  const bool is_packed = packing.scale > 0;
  const auto rank = static_cast<int>(dimensions.size());
  check(nc_def_var(file_, name.c_str(), is_packed ? NC_SHORT : NC_DOUBLE, rank, dimensions.data(), &id));
  if (fault_.empty() && !chunk.empty()) {
    check(nc_def_var_chunking(file_, id, NC_CHUNKED, chunk.data()));
    check(nc_def_var_deflate(file_, id, 1, 1, kDeflate));
  }
  put_attributes(id, attributes);
  if (fault_.empty() && is_packed) {
    check(nc_put_att_double(file_, id, "scale_factor", NC_DOUBLE, 1, &packing.scale));
    check(nc_put_att_double(file_, id, "add_offset", NC_DOUBLE, 1, &packing.offset));
  }
  packing_.push_back(packing);
  return id;
}

int NetcdfOutput::float_variable(const std::string& name, const std::vector<int>& dimensions, const Attributes& attributes) {
  int id = -1;
  if (!fault_.empty()) return id;
  check(nc_def_var(file_, name.c_str(), NC_FLOAT, static_cast<int>(dimensions.size()), dimensions.data(), &id));
  const float missing = std::numeric_limits<float>::quiet_NaN();
  if (fault_.empty()) check(nc_put_att_float(file_, id, "_FillValue", NC_FLOAT, 1, &missing));
  put_attributes(id, attributes);
  packing_.push_back({0, 0});
  return id;
}

int NetcdfOutput::text_variable(const std::string& name, const std::vector<int>& dimensions, const Attributes& attributes) {
  int id = -1;
  if (!fault_.empty()) return id;
  check(nc_def_var(file_, name.c_str(), NC_CHAR, static_cast<int>(dimensions.size()), dimensions.data(), &id));
  put_attributes(id, attributes);
  packing_.push_back({0, 0});
  return id;
}

void NetcdfOutput::write_texts(int variable, std::span<const std::string> texts, std::size_t length) {
  if (!fault_.empty()) return;
  end_definitions();
  std::string all;
  for (std::string text : texts) {
    text.resize(length);
    all += text;
  }
  check(nc_put_var_text(file_, variable, all.data()));
}

void NetcdfOutput::put_attributes(int variable, const Attributes& attributes) {
  for (const auto& [key, value] : attributes)
    if (fault_.empty()) check(nc_put_att_text(file_, variable, key.c_str(), value.size(), value.data()));
}

void NetcdfOutput::end_definitions() {
  if (!has_values_) check(nc_enddef(file_));
  has_values_ = true;
}

void NetcdfOutput::write_part(int variable, std::span<const std::size_t> start, std::span<const std::size_t> count,
                              std::span<const float> values) {
  if (!fault_.empty()) return;
  end_definitions();
  check(nc_put_vara_float(file_, variable, start.data(), count.data(), values.data()));
}

void NetcdfOutput::write(int variable, std::span<const double> values) {
  if (!fault_.empty()) return;
  end_definitions();
  const Packing packing = packing_[static_cast<std::size_t>(variable)];
  if (!(packing.scale > 0)) return check(nc_put_var_double(file_, variable, values.data()));
  std::vector<std::int16_t> packed;
  packed.reserve(values.size());
  for (const double value : values) {
    const double step = std::round((value - packing.offset) / packing.scale);
    if (!(std::abs(step) <= kLargestPacked)) {
      fault_ = fmt::format("the value {} does not fit its packing", value);
      return;
    }
    packed.push_back(static_cast<std::int16_t>(step));
  }
  check(nc_put_var_short(file_, variable, packed.data()));
}

Result<std::filesystem::path> NetcdfOutput::close() {
  if (file_ >= 0) check(nc_close(file_));
  file_ = -1;
  std::error_code renaming;
  if (fault_.empty() && under_way_ != path_) std::filesystem::rename(under_way_, path_, renaming);
  if (renaming) fault_ = renaming.message();
  if (fault_.empty()) return path_;
  std::error_code ignored;
  std::filesystem::remove(under_way_, ignored);
  return Error{ErrorKind::failed, "unwritable", path_.string(), fmt::format("cannot be written: {}", fault_),
               "look at the folder's permissions and the room on its disk"};
}

}  // namespace hakea::ingest
