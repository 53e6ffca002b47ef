#include "ingest/format/netcdf_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <hdf5.h>
#include <netcdf.h>
#include <netcdf_filter.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <map>
#include <utility>

#include "core/base/words.h"
#include "ingest/format/grib_as_netcdf.h"
#include "ingest/format/whole_file.h"
#include "ingest/station/station_table.h"

namespace hakea::ingest {

// A member of NetcdfFile::State, which has a name outside this file: so does this.
class FileDescriptor {
 public:
  explicit FileDescriptor(int number) : number_(number) {}
  FileDescriptor(FileDescriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  FileDescriptor& operator=(FileDescriptor&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
  }
  ~FileDescriptor() {
    if (number_ >= 0) close(number_);
  }
  int number() const { return number_; }

 private:
  int number_;
};

namespace {

constexpr std::size_t kMostValuesAtOnce = std::size_t{1} << 27;
constexpr int kDeepestGroup = 32;
constexpr std::array<const char*, 4> kZarrMarks{".zgroup", ".zarray", ".zmetadata", "zarr.json"};  // versions 2 and 3
constexpr const char* kWholeHint = "give a whole NetCDF file: classic, 64-bit offset, CDF-5 or NetCDF-4";

std::function<void(const std::string&)>& observer() {
  static std::function<void(const std::string&)> told;
  return told;
}
void tell(const std::string& path) {
  if (observer()) observer()(path);
}

ValueType value_type(nc_type type) {
  switch (type) {
    case NC_BYTE: return ValueType::int8;
    case NC_UBYTE: return ValueType::uint8;
    case NC_SHORT: return ValueType::int16;
    case NC_USHORT: return ValueType::uint16;
    case NC_INT: return ValueType::int32;
    case NC_UINT: return ValueType::uint32;
    case NC_INT64: return ValueType::int64;
    case NC_UINT64: return ValueType::uint64;
    case NC_FLOAT: return ValueType::float32;
    case NC_DOUBLE: return ValueType::float64;
    case NC_CHAR:
    case NC_STRING: return ValueType::text;
    default: return ValueType::other;
  }
}

// Why values of a user-defined type cannot be read.
std::string describe_type(int group, nc_type type) {
  std::array<char, NC_MAX_NAME + 1> name{};
  int kind = 0;
  if (nc_inq_user_type(group, type, name.data(), nullptr, nullptr, nullptr, &kind) != NC_NOERR) return "its type is not known";
  const char* word = kind == NC_ENUM       ? "an enumeration"
                     : kind == NC_COMPOUND ? "a compound"
                     : kind == NC_VLEN     ? "of variable length"
                                           : "opaque";
  return fmt::format("its type '{}' is {}", name.data(), word);
}

// Filters registered with The HDF Group that weather files are known to use.
std::string describe_filter(unsigned id) {
  static const std::map<unsigned, const char*> names{
      {4, "szip"},    {5, "nbit"},           {6, "scale-offset"}, {307, "bzip2"},       {32000, "LZF"}, {32001, "Blosc"},
      {32004, "LZ4"}, {32008, "bitshuffle"}, {32013, "ZFP"},      {32015, "Zstandard"}, {32018, "FCI"}, {32026, "Blosc2"}};
  const auto found = names.find(id);
  return found == names.end() ? fmt::format("filter {} is not known here", id)
                              : fmt::format("filter {} ({}) is not known here", id, found->second);
}

std::string without_padding(std::string text) {
  text.resize(text.find_last_not_of('\0') + 1);
  return text;
}

std::optional<Attribute> read_attribute(int group, int variable, int index) {
  std::array<char, NC_MAX_NAME + 1> name{};
  nc_type type = NC_NAT;
  std::size_t length = 0;
  if (nc_inq_attname(group, variable, index, name.data()) != NC_NOERR) return std::nullopt;
  if (nc_inq_att(group, variable, name.data(), &type, &length) != NC_NOERR || length > kMostValuesAtOnce) return std::nullopt;
  Attribute attribute;
  attribute.name = name.data();
  if (type == NC_CHAR) {
    attribute.is_text = true;
    attribute.text.resize(length);
    if (length > 0 && nc_get_att_text(group, variable, name.data(), attribute.text.data()) != NC_NOERR) return std::nullopt;
    attribute.text = without_padding(std::move(attribute.text));
  } else if (type == NC_STRING) {
    attribute.is_text = true;
    std::vector<char*> strings(length, nullptr);
    if (length > 0 && nc_get_att_string(group, variable, name.data(), strings.data()) != NC_NOERR) return std::nullopt;
    for (std::size_t i = 0; i < length; ++i)
      attribute.text += (i == 0 ? "" : " ") + std::string(strings[i] == nullptr ? "" : strings[i]);
    if (length > 0) nc_free_string(length, strings.data());
  } else if (type <= NC_MAX_ATOMIC_TYPE) {
    attribute.is_real = type == NC_FLOAT || type == NC_DOUBLE;
    attribute.numbers.resize(length);
    if (length > 0 && nc_get_att_double(group, variable, name.data(), attribute.numbers.data()) != NC_NOERR) return std::nullopt;
  } else {
    return std::nullopt;  // of a user-defined type: nothing in CF is
  }
  return attribute;
}

std::vector<Attribute> read_attributes(int group, int variable) {
  int count = 0;
  if ((variable == NC_GLOBAL ? nc_inq_natts(group, &count) : nc_inq_varnatts(group, variable, &count)) != NC_NOERR) return {};
  std::vector<Attribute> attributes;
  for (int i = 0; i < count; ++i) {
    if (auto attribute = read_attribute(group, variable, i)) attributes.push_back(std::move(*attribute));
  }
  return attributes;
}

}  // namespace

const Attribute* Variable::attribute(std::string_view wanted) const {
  const auto found = std::find_if(attributes.begin(), attributes.end(), [&](const Attribute& a) { return a.name == wanted; });
  return found == attributes.end() ? nullptr : &*found;
}

std::string Variable::text(std::string_view wanted) const {
  const Attribute* found = attribute(wanted);
  return found != nullptr && found->is_text ? found->text : std::string();
}

std::optional<double> Variable::number(std::string_view wanted) const {
  const Attribute* found = attribute(wanted);
  return found != nullptr && !found->numbers.empty() ? std::optional(found->numbers.front()) : std::nullopt;
}

double Variable::unsigned_span() const {
  if (lower(text("_Unsigned")) != "true") return 0;
  return type == ValueType::int8 ? 0x1p8 : type == ValueType::int16 ? 0x1p16 : type == ValueType::int32 ? 0x1p32 : 0;
}

struct NetcdfFile::State {
  FileDescriptor descriptor;
  std::string path, stable_path, format;
  int root = -1;
  std::vector<Dimension> dimensions;
  std::vector<Variable> variables;
  std::vector<Handle> handles;
  std::vector<Attribute> attributes;

  State(FileDescriptor d, std::string p)
      : descriptor(std::move(d)), path(std::move(p)), stable_path(fmt::format("/proc/self/fd/{}", descriptor.number())) {}
  State(const State&) = delete;
  State& operator=(const State&) = delete;
  ~State() {
    if (root >= 0) nc_close(root);
  }

  Error failure(const std::string& where, int status) const {
    return {ErrorKind::unreadable, "damaged", where.empty() ? path : path + ": " + where,
            fmt::format("cannot be read ({})", nc_strerror(status)), kWholeHint};
  }

  // Dimensions and variables of a group and those below it. `known` leads from NetCDF-C's number to ours.
  int collect(int group, const std::string& prefix, std::map<int, std::size_t>& known, int depth) {
    if (depth > kDeepestGroup) return NC_EHDFERR;
    int count = 0;
    if (const int status = nc_inq_dimids(group, &count, nullptr, 0); status != NC_NOERR) return status;
    std::vector<int> ids(static_cast<std::size_t>(count));
    if (const int status = nc_inq_dimids(group, &count, ids.data(), 0); status != NC_NOERR) return status;
    std::sort(ids.begin(), ids.end());
    int unlimited_count = 0;
    if (const int status = nc_inq_unlimdims(group, &unlimited_count, nullptr); status != NC_NOERR) return status;
    std::vector<int> unlimited(static_cast<std::size_t>(unlimited_count));
    if (const int status = nc_inq_unlimdims(group, &unlimited_count, unlimited.data()); status != NC_NOERR) return status;
    for (const int id : ids) {
      std::array<char, NC_MAX_NAME + 1> name{};
      Dimension dimension;
      if (const int status = nc_inq_dim(group, id, name.data(), &dimension.length); status != NC_NOERR) return status;
      dimension.name = prefix + name.data();
      dimension.is_unlimited = std::find(unlimited.begin(), unlimited.end(), id) != unlimited.end();
      known[id] = dimensions.size();
      dimensions.push_back(std::move(dimension));
    }
    int variable_count = 0;
    if (const int status = nc_inq_nvars(group, &variable_count); status != NC_NOERR) return status;
    for (int v = 0; v < variable_count; ++v) {
      if (const int status = collect_variable(group, v, prefix, known); status != NC_NOERR) return status;
    }
    int group_count = 0;
    if (const int status = nc_inq_grps(group, &group_count, nullptr); status != NC_NOERR) return status;
    std::vector<int> groups(static_cast<std::size_t>(group_count));
    if (const int status = nc_inq_grps(group, &group_count, groups.data()); status != NC_NOERR) return status;
    for (const int below : groups) {
      std::array<char, NC_MAX_NAME + 1> name{};
      if (const int status = nc_inq_grpname(below, name.data()); status != NC_NOERR) return status;
      if (const int status = collect(below, prefix + name.data() + "/", known, depth + 1); status != NC_NOERR) return status;
    }
    return NC_NOERR;
  }

  int collect_variable(int group, int id, const std::string& prefix, const std::map<int, std::size_t>& known) {
    std::array<char, NC_MAX_NAME + 1> name{};
    nc_type type = NC_NAT;
    int rank = 0;
    if (const int status = nc_inq_var(group, id, name.data(), &type, &rank, nullptr, nullptr); status != NC_NOERR) return status;
    std::vector<int> dimids(static_cast<std::size_t>(rank));
    if (rank > 0) {
      if (const int status = nc_inq_vardimid(group, id, dimids.data()); status != NC_NOERR) return status;
    }
    Variable variable;
    variable.name = prefix + name.data();
    variable.type = value_type(type);
    for (const int dimid : dimids) {
      const auto found = known.find(dimid);
      if (found == known.end()) return NC_EBADDIM;
      variable.dimensions.push_back(found->second);
    }
    variable.attributes = read_attributes(group, id);
    if (variable.type == ValueType::other) variable.unreadable = describe_type(group, type);
    if (format == "netcdf-4") {
      int storage = NC_CONTIGUOUS;
      std::vector<std::size_t> chunk(static_cast<std::size_t>(rank));
      if (rank > 0 && nc_inq_var_chunking(group, id, &storage, chunk.data()) == NC_NOERR && storage == NC_CHUNKED)
        variable.chunk_shape = std::move(chunk);
      std::size_t filters = 0;
      std::array<unsigned, 64> filter{};
      if (nc_inq_var_filter_ids(group, id, &filters, nullptr) == NC_NOERR && filters <= filter.size()) {
        nc_inq_var_filter_ids(group, id, &filters, filter.data());
        for (std::size_t i = 0; i < filters; ++i) {
          if (H5Zfilter_avail(static_cast<H5Z_filter_t>(filter[i])) <= 0) variable.unreadable = describe_filter(filter[i]);
        }
      }
    }
    if (format.starts_with("grib") && !variable.text(kUnreadableAttribute).empty())
      variable.unreadable = variable.text(kUnreadableAttribute);
    variables.push_back(std::move(variable));
    handles.push_back({group, id});
    return NC_NOERR;
  }
};

void NetcdfFile::observe(std::function<void(const std::string& path)> told) { observer() = std::move(told); }

Result<NetcdfFile> NetcdfFile::open(const std::string& path, Need need) {
  tell(path);
  std::error_code failed;
  const bool is_address = path.find("://") != std::string::npos || path.find('#') != std::string::npos;
  if (path.find('\0') != std::string::npos || (is_address && !std::filesystem::is_regular_file(path, failed))) {
    const bool zarr = path.find("zarr") != std::string::npos;
    return Error{ErrorKind::unsupported, "not_local", path,
                 zarr ? "the address of a Zarr store, which is not read" : "not a plain local path",
                 "give the path of a file on this machine, without a scheme and without #; have a Zarr store written as NetCDF"};
  }
  const auto absolute = std::filesystem::absolute(path, failed).lexically_normal();
  if (failed) return Error{ErrorKind::unreadable, "unreadable", path, "cannot be found: " + failed.message(), "check the path"};
  if (std::filesystem::is_directory(absolute, failed)) {
    const bool zarr = std::any_of(kZarrMarks.begin(), kZarrMarks.end(),
                                  [&](const char* mark) { return std::filesystem::exists(absolute / mark, failed); });
    return Error{ErrorKind::unsupported, "foreign", path, zarr ? "a Zarr store, which is not read" : "a folder, not a file",
                 zarr ? "have it written as NetCDF-4 or GRIB" : kWholeHint};
  }
  FileDescriptor descriptor(::open(absolute.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (descriptor.number() < 0) {
    return Error{errno == ENOENT ? ErrorKind::not_found : ErrorKind::unreadable, "unreadable", path,
                 fmt::format("cannot be opened: {}", std::strerror(errno)), "check the path and the file's permissions"};
  }
  const auto kind = check_whole(descriptor.number(), path);
  if (!kind) return kind.errors();
  std::string format = *kind == FileKind::hdf5      ? "netcdf-4"
                       : *kind == FileKind::cdf5    ? "netcdf-cdf5"
                       : *kind == FileKind::classic ? "netcdf-classic"
                                                    : "netcdf-64bit-offset";
  if (*kind == FileKind::grib) {
    auto copy = grib_as_netcdf(descriptor.number(), path, need == Need::values ? GribCopy::whole : GribCopy::headers);
    if (!copy) return copy.errors();
    descriptor = FileDescriptor(copy->descriptor);
    format = copy->format;
  } else if (*kind == FileKind::station_table) {
    const auto copy = station_table_as_netcdf(descriptor.number(), path);
    if (!copy) return copy.errors();
    descriptor = FileDescriptor(*copy);
    format = "station table";
  }

  H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);  // HDF5 prints its errors unless told not to
  auto state = std::make_unique<State>(std::move(descriptor), path);
  state->format = std::move(format);
  if (const int status = nc_open(state->stable_path.c_str(), NC_NOWRITE, &state->root); status != NC_NOERR) {
    state->root = -1;
    return state->failure("", status);
  }
  state->attributes = read_attributes(state->root, NC_GLOBAL);
  std::map<int, std::size_t> known;
  if (const int status = state->collect(state->root, "", known, 0); status != NC_NOERR) return state->failure("", status);
  return NetcdfFile(std::move(state));
}

NetcdfFile::NetcdfFile(std::unique_ptr<State> state) : state_(std::move(state)) {}
NetcdfFile::NetcdfFile(NetcdfFile&&) noexcept = default;
NetcdfFile& NetcdfFile::operator=(NetcdfFile&&) noexcept = default;
NetcdfFile::~NetcdfFile() = default;

const std::string& NetcdfFile::path() const { return state_->path; }
const std::string& NetcdfFile::format() const { return state_->format; }
const std::vector<Dimension>& NetcdfFile::dimensions() const { return state_->dimensions; }
const std::vector<Variable>& NetcdfFile::variables() const { return state_->variables; }
const std::vector<Attribute>& NetcdfFile::attributes() const { return state_->attributes; }
NetcdfFile::Handle NetcdfFile::handle(std::size_t variable) const {
  tell(state_->path);
  return state_->handles.at(variable);
}
const std::string& NetcdfFile::stable_path() const { return state_->stable_path; }

std::optional<std::size_t> NetcdfFile::find(std::string_view name) const {
  const auto& all = state_->variables;
  const auto found = std::find_if(all.begin(), all.end(), [&](const Variable& v) { return v.name == name; });
  return found == all.end() ? std::nullopt : std::optional(static_cast<std::size_t>(found - all.begin()));
}

std::optional<std::size_t> NetcdfFile::resolve(std::size_t from, std::string_view name) const {
  if (name.starts_with('/')) return find(name.substr(1));
  std::string group = state_->variables.at(from).name;
  while (true) {
    const auto slash = group.rfind('/');
    group.resize(slash == std::string::npos ? 0 : slash);
    if (const auto found = find(group.empty() ? std::string(name) : group + "/" + std::string(name))) return found;
    if (group.empty()) return std::nullopt;
  }
}

std::vector<std::size_t> NetcdfFile::shape_of(std::size_t variable) const {
  std::vector<std::size_t> shape;
  for (const std::size_t d : state_->variables.at(variable).dimensions) shape.push_back(state_->dimensions[d].length);
  return shape;
}

std::size_t NetcdfFile::size_of(std::size_t variable) const {
  std::size_t size = 1;
  for (const std::size_t length : shape_of(variable)) {
    if (__builtin_mul_overflow(size, length, &size)) return SIZE_MAX;
  }
  return size;
}

Result<std::vector<double>> NetcdfFile::read(std::size_t variable, std::span<const std::size_t> start,
                                             std::span<const std::size_t> count) const {
  const Variable& v = state_->variables.at(variable);
  const auto refused = [&](std::string what) {
    return Error{ErrorKind::unsupported, "unreadable", state_->path + ": " + v.name, std::move(what), ""};
  };
  if (!v.unreadable.empty()) return refused(v.unreadable);
  if (v.type == ValueType::text) return refused("it holds text, not numbers");
  HAKEA_EXPECT(start.size() == v.dimensions.size() && count.size() == v.dimensions.size());
  std::size_t values = 1;
  for (std::size_t d = 0; d < count.size(); ++d) {
    const std::size_t length = state_->dimensions[v.dimensions[d]].length;
    if (start[d] > length || count[d] > length - start[d]) return refused("values outside its shape were asked for");
    if (__builtin_mul_overflow(values, count[d], &values)) values = SIZE_MAX;
  }
  if (values > kMostValuesAtOnce) return refused(fmt::format("it is too large to be read at once ({} values)", values));
  std::vector<double> numbers(values);
  if (values == 0) return numbers;
  tell(state_->path);
  const auto [group, id] = state_->handles[variable];
  // A scalar has no start or count, but NetCDF-C wants pointers to something.
  static constexpr std::size_t kNone = 0;
  const int status =
      nc_get_vara_double(group, id, start.empty() ? &kNone : start.data(), count.empty() ? &kNone : count.data(), numbers.data());
  // NC_ERANGE: a value does not fit a double, which cannot be for our types
  if (status != NC_NOERR) return state_->failure(v.name, status);
  if (const double span = v.unsigned_span(); span > 0)
    for (double& x : numbers) x = x < 0 ? x + span : x;
  return numbers;
}

Result<std::vector<double>> NetcdfFile::read_all(std::size_t variable) const {
  const auto shape = shape_of(variable);
  return read(variable, std::vector<std::size_t>(shape.size(), 0), shape);
}

Result<std::vector<std::string>> NetcdfFile::read_text(std::size_t variable) const {
  const Variable& v = state_->variables.at(variable);
  const auto [group, id] = state_->handles[variable];
  const std::size_t values = size_of(variable);
  nc_type type = NC_NAT;
  nc_inq_vartype(group, id, &type);
  if (v.type != ValueType::text || !v.unreadable.empty() || values > kMostValuesAtOnce) {
    return Error{ErrorKind::unsupported, "unreadable", state_->path + ": " + v.name,
                 v.unreadable.empty() ? "it does not hold text that can be read" : v.unreadable, ""};
  }
  std::vector<std::string> lines;
  if (values == 0) return lines;
  tell(state_->path);
  if (type == NC_STRING) {
    std::vector<char*> strings(values, nullptr);
    if (const int status = nc_get_var_string(group, id, strings.data()); status != NC_NOERR)
      return state_->failure(v.name, status);
    for (const char* s : strings) lines.emplace_back(s == nullptr ? "" : s);
    nc_free_string(values, strings.data());
    return lines;
  }
  std::string all(values, '\0');
  if (const int status = nc_get_var_text(group, id, all.data()); status != NC_NOERR) return state_->failure(v.name, status);
  const std::size_t width = v.dimensions.empty() ? 1 : state_->dimensions[v.dimensions.back()].length;
  for (std::size_t at = 0; at < values; at += width) lines.push_back(without_padding(all.substr(at, width)));
  return lines;
}

}  // namespace hakea::ingest
