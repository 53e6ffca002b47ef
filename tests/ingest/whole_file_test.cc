// Whether a file is whole, at every length it can be cut to. What is expected is read off the bytes, not worked out from the
// header: all data are of one byte that stands nowhere else, so a whole classic file ends behind the last of them.
#include "ingest/format/whole_file.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <hdf5.h>
#include <unistd.h>

#include <algorithm>
#include <cstring>
#include <numeric>

#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"
#include "tests/support/netcdf_writer.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

constexpr char kData = '\x41';

// "whole", or the code of the refusal, of a file of so many bytes that begins with `bytes`.
std::string finding(std::string_view bytes, std::size_t size) {
  const auto read = [&](std::uint64_t at, void* to, std::size_t wanted) -> std::size_t {
    if (at >= bytes.size()) return 0;
    const std::size_t got = std::min(wanted, bytes.size() - static_cast<std::size_t>(at));
    std::memcpy(to, bytes.data() + at, got);
    return got;
  };
  const auto kind = check_whole(read, size, "file");
  if (!kind) {
    EXPECT_FALSE(kind.error().what.empty() || kind.error().hint.empty());
  }
  return kind ? "whole" : kind.error().code;
}

struct Layout {
  const char* name;
  std::vector<std::pair<nc_type, bool>> variables;  // type, whether it is a record variable
  std::size_t records = 0;
};

// Odd lengths, so that there is padding wherever the format has it.
std::string classic_file(const test::TempDir& folder, int mode, const Layout& layout) {
  const std::string path = folder.path() / "whole.nc";
  const test::NetcdfWriter nc(path, mode);
  const int time = nc.dimension("time", NC_UNLIMITED), x = nc.dimension("x", 3), y = nc.dimension("yy", 5);
  nc.text(NC_GLOBAL, "title", "seven b");
  nc.number(NC_GLOBAL, "number", 7);
  std::vector<int> ids;
  for (const auto& [type, is_record] : layout.variables) {
    const std::string name = "v" + std::to_string(ids.size());
    ids.push_back(nc.variable(name, type, is_record ? std::vector{time, y, x} : std::vector{y, x}));
    nc.text(ids.back(), "units", "K");
  }
  test::check_netcdf(nc_enddef(nc.file()));
  const std::string data(std::size_t{8} * 15 * (layout.records + 1), kData);
  for (std::size_t v = 0; v < ids.size(); ++v) {
    const bool is_record = layout.variables[v].second;
    const std::vector<std::size_t> start(3, 0),
        count = is_record ? std::vector<std::size_t>{layout.records, 5, 3} : std::vector<std::size_t>{5, 3};
    if (!is_record || layout.records > 0)
      test::check_netcdf(nc_put_vara(nc.file(), ids[v], start.data(), count.data(), data.data()));
  }
  return path;
}

class ClassicFile : public testing::TestWithParam<int> {};

TEST_P(ClassicFile, IsWholeByItsHeaderAndItsSizeAloneAtEveryByte) {
  std::vector<Layout> layouts{{"no variable", {}},
                              {"one fixed", {{NC_SHORT, false}}},
                              {"fixed ones", {{NC_BYTE, false}, {NC_CHAR, false}, {NC_DOUBLE, false}, {NC_CHAR, false}}},
                              {"no record yet", {{NC_INT, false}, {NC_FLOAT, true}}, 0},
                              {"records only", {{NC_BYTE, true}, {NC_SHORT, true}, {NC_CHAR, true}}, 3},
                              {"a lone record variable, not padded", {{NC_BYTE, true}}, 4},
                              {"one record", {{NC_FLOAT, true}, {NC_BYTE, true}}, 1},
                              {"both", {{NC_DOUBLE, false}, {NC_SHORT, true}, {NC_INT, false}, {NC_BYTE, true}}, 2},
                              {"the fixed one behind", {{NC_CHAR, true}, {NC_SHORT, false}}, 2}};
  if (GetParam() == NC_64BIT_DATA)
    layouts.push_back(
        {"the types of CDF-5", {{NC_UBYTE, true}, {NC_USHORT, true}, {NC_UINT, false}, {NC_INT64, true}, {NC_UINT64, false}}, 2});
  for (const Layout& layout : layouts) {
    SCOPED_TRACE(layout.name);
    const test::TempDir folder;
    const std::string path = classic_file(folder, GetParam(), layout), bytes = test::file_bytes(path);
    const std::size_t first = bytes.find(kData), last = bytes.rfind(kData);
    const bool has_data = first != std::string::npos;
    const std::size_t header = has_data ? first : bytes.size(), end = has_data ? last + 1 : bytes.size();
    const int descriptor = ::open(path.c_str(), O_RDWR | O_CLOEXEC);
    for (std::size_t size = bytes.size() + 1; size-- > 0;) {
      SCOPED_TRACE(size);
      const std::string expected = size >= end ? "whole" : "truncated";
      const std::string_view cut = std::string_view(bytes).substr(0, size);
      ASSERT_EQ(finding(cut, size), expected);
      ASSERT_EQ(finding(cut.substr(0, header), size), expected) << "by its header";
      ASSERT_EQ(::ftruncate(descriptor, static_cast<off_t>(size)), 0);
      const auto of_file = check_whole(descriptor, path);
      ASSERT_EQ(of_file ? "whole" : of_file.error().code, expected) << "on the disk";
    }
    ::close(descriptor);
    EXPECT_EQ(finding(bytes, bytes.size() + 1000), "whole") << "with something behind it";
  }
}
INSTANTIATE_TEST_SUITE_P(Formats, ClassicFile, testing::Values(0, NC_64BIT_OFFSET, NC_64BIT_DATA));

// The oldest and the newest form of the superblock, at the start and behind what somebody else wrote before it.
TEST(Hdf5File, IsWholeUpToTheEndThatItStates) {
  for (const bool is_latest : {false, true})
    for (const hsize_t before : {hsize_t{0}, hsize_t{512}, hsize_t{2048}}) {
      SCOPED_TRACE(std::to_string(before) + (is_latest ? " bytes, latest" : " bytes, earliest"));
      const test::TempDir folder;
      const std::string path = folder.path() / "whole.h5";
      const hid_t access = H5Pcreate(H5P_FILE_ACCESS), creation = H5Pcreate(H5P_FILE_CREATE);
      if (is_latest) H5Pset_libver_bounds(access, H5F_LIBVER_LATEST, H5F_LIBVER_LATEST);
      ASSERT_GE(H5Pset_userblock(creation, before), 0);
      const hid_t file = H5Fcreate(path.c_str(), H5F_ACC_TRUNC, creation, access);
      const hsize_t count = 100;
      const hid_t space = H5Screate_simple(1, &count, nullptr);
      const hid_t set = H5Dcreate2(file, "values", H5T_STD_I32LE, space, H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT);
      const std::vector<int> values(count, 1);
      ASSERT_GE(H5Dwrite(set, H5T_NATIVE_INT, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), 0);
      H5Dclose(set);
      H5Sclose(space);
      H5Fclose(file);
      H5Pclose(creation);
      H5Pclose(access);
      const std::string bytes = test::file_bytes(path);
      for (std::size_t size = 0; size < bytes.size(); ++size) ASSERT_NE(finding(bytes.substr(0, size), size), "whole") << size;
      EXPECT_EQ(finding(bytes, bytes.size()), "whole");
    }
}

// The tail of a cut may be shorter than the word that begins a message: then whole messages are all that is there.
TEST(GribFile, IsWholeBehindEachOfItsMessages) {
  const std::string bytes = test::file_bytes(test::tests_folder() + "/data/grib/steps_together.grib2");
  std::vector<std::size_t> ends{bytes.size()};
  for (std::size_t at = 0; (at = bytes.find("7777GRIB", at)) != std::string::npos; ++at) ends.push_back(at + 4);
  ASSERT_GE(ends.size(), 2U);
  std::size_t whole = 0;
  for (std::size_t size = 0; size <= bytes.size(); ++size) {
    const bool is_end = std::any_of(ends.begin(), ends.end(), [&](std::size_t end) { return size >= end && size < end + 4; });
    ASSERT_EQ(finding(bytes.substr(0, size), size) == "whole", is_end) << size;
    whole += is_end;
  }
  EXPECT_EQ(whole, 4 * (ends.size() - 1) + 1);
}

}  // namespace
}  // namespace hakea::ingest
