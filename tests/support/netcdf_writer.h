// Small NetCDF files for tests, written through NetCDF-C.
#pragma once

#include <netcdf.h>

#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace hakea::test {

inline void check_netcdf(int status) {
  if (status != NC_NOERR) throw std::runtime_error(nc_strerror(status));
}

class NetcdfWriter {
 public:
  struct Storage {
    std::vector<std::size_t> chunk;  // empty: contiguous
    bool shuffle = false, fletcher = false;
    int deflate = 0;
    int endian = NC_ENDIAN_NATIVE;
  };

  NetcdfWriter(const std::string& path, int mode) { check_netcdf(nc_create(path.c_str(), NC_CLOBBER | mode, &file_)); }
  NetcdfWriter(const NetcdfWriter&) = delete;
  NetcdfWriter& operator=(const NetcdfWriter&) = delete;
  ~NetcdfWriter() { nc_close(file_); }

  int file() const { return file_; }
  int dimension(const std::string& name, std::size_t length) const {
    int id = -1;
    check_netcdf(nc_def_dim(file_, name.c_str(), length, &id));
    return id;
  }
  int variable(const std::string& name, nc_type type, const std::vector<int>& dimensions) const {
    int id = -1;
    check_netcdf(nc_def_var(file_, name.c_str(), type, static_cast<int>(dimensions.size()), dimensions.data(), &id));
    return id;
  }
  int variable(const std::string& name, nc_type type, const std::vector<int>& dimensions, const Storage& storage) const {
    const int id = variable(name, type, dimensions);
    if (!storage.chunk.empty()) check_netcdf(nc_def_var_chunking(file_, id, NC_CHUNKED, storage.chunk.data()));
    if (storage.shuffle || storage.deflate > 0)
      check_netcdf(nc_def_var_deflate(file_, id, storage.shuffle, storage.deflate > 0, storage.deflate));
    if (storage.fletcher) check_netcdf(nc_def_var_fletcher32(file_, id, NC_FLETCHER32));
    if (storage.endian != NC_ENDIAN_NATIVE) check_netcdf(nc_def_var_endian(file_, id, storage.endian));
    return id;
  }
  void text(int variable, const std::string& name, const std::string& value) const {
    check_netcdf(nc_put_att_text(file_, variable, name.c_str(), value.size(), value.data()));
  }
  void number(int variable, const std::string& name, double value) const {
    check_netcdf(nc_put_att_double(file_, variable, name.c_str(), NC_DOUBLE, 1, &value));
  }
  void write(int variable, const std::vector<std::size_t>& start, const std::vector<std::size_t>& count,
             const std::vector<double>& values) const {
    nc_enddef(file_);  // an error when it has been done already, which is no matter
    check_netcdf(nc_put_vara_double(file_, variable, start.data(), count.data(), values.data()));
  }
  // Texts of a width, padded with zeros.
  void letters(int variable, const std::vector<std::string>& texts, std::size_t width) const {
    std::string all;
    for (std::string text : texts) {
      text.resize(width);
      all += text;
    }
    nc_enddef(file_);
    check_netcdf(nc_put_var_text(file_, variable, all.data()));
  }

 private:
  int file_ = -1;
};

}  // namespace hakea::test
