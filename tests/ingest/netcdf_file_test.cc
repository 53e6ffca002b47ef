// What is opened, what is refused and why.
#include "ingest/format/netcdf_file.h"

#include <gtest/gtest.h>
#include <hdf5.h>

#include <filesystem>

#include "ingest/inspect.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"
#include "tests/support/netcdf_writer.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

using test::NetcdfWriter;
using test::TempDir;

std::string why_refused(const std::string& path) {
  const auto file = NetcdfFile::open(path);
  if (file) return "";
  EXPECT_FALSE(file.error().hint.empty()) << path;
  EXPECT_FALSE(file.error().code.empty()) << path;
  return file.error().what;
}

bool contains(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

TEST(NetcdfFile, TruncatedAndForeignFeedFilesAreRefusedWithTheReason) {
  if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside this checkout";
  const std::string folder = test::shared_folder() + "/feeds/derived/truncated/";
  const std::pair<const char*, const char*> expected[] = {
      {"trunc_64bit_offset_mslp.nc", "300000 bytes, but its header implies at least 3253528"},
      {"trunc_classic_record_sonde.cdf", "20000 bytes, but its header implies at least 172368"},
      {"trunc_hdf5_era5.nc", "800000 bytes, but its superblock says 1591002"},
      {"trunc_magic_only.nc", "6 bytes"},
      {"gzipped_but_named.nc", "gzip"},
      {"html_error_page_saved_as.nc", "HTML page"},
      {"trunc_nam.grib2", "cut off: message 15"}};
  for (const auto& [name, part] : expected)
    EXPECT_TRUE(contains(why_refused(folder + name), part)) << name << ": " << why_refused(folder + name);
}

TEST(NetcdfFile, EveryFeedFileIsReadToTheEndOrRefused) {
  if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside this checkout";
  std::size_t opened = 0, refused = 0;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(test::shared_folder() + "/feeds")) {
    if (!entry.is_regular_file()) continue;
    const auto file = NetcdfFile::open(entry.path());
    if (!file) {
      ++refused;
      EXPECT_FALSE(file.error().what.empty()) << entry.path();
      continue;
    }
    ++opened;
    for (std::size_t v = 0; v < file->variables().size(); ++v) {
      const Variable& variable = file->variables()[v];
      if (!variable.unreadable.empty()) continue;
      if (variable.type == ValueType::text)
        EXPECT_TRUE(file->read_text(v)) << entry.path() << " " << variable.name;
      else
        EXPECT_EQ(file->read_all(v)->size(), file->size_of(v)) << entry.path() << " " << variable.name;
    }
  }
  EXPECT_GE(opened, 70U);  // none of the whole NetCDF files is taken for a damaged one
  EXPECT_GE(refused, 15U);
}

TEST(NetcdfFile, ForeignContentIsNamedInWords) {
  const TempDir folder;
  const std::pair<std::string, const char*> expected[] = {{"<!DOCTYPE html><html><body>404 not found</body></html>", "HTML page"},
                                                          {"\x1f\x8b\x08 and so on", "gzip"},
                                                          {"GRIB\1\2\3\7 and so on", "GRIB"},
                                                          {"", "empty"},
                                                          {"time,temperature\n1,2\n", "text file"},
                                                          {"{\"error\": \"busy\"}", "JSON"},
                                                          {"PK\x03\x04zip", "ZIP"},
                                                          {"CDF", "cut off"},
                                                          {std::string("\x89HDF"), "cut off"},
                                                          {"CDF\x07 and so on", "version"}};
  for (const auto& [content, part] : expected)
    EXPECT_TRUE(contains(why_refused(folder.write("file.nc", content)), part)) << part << " for: " << content;
  EXPECT_TRUE(contains(why_refused(folder.path()), "folder"));
  EXPECT_TRUE(contains(why_refused(folder.path() / "absent.nc"), "cannot be opened"));
}

TEST(NetcdfFile, AnythingButAPlainLocalPathIsRefused) {
  for (const char* path :
       {"http://example.org/forecast.nc", "file:///forecast.zarr", "/data/forecast.nc#mode=nczarr", "dap4://example.org/x"}) {
    const auto file = NetcdfFile::open(path);
    ASSERT_FALSE(file) << path;
    EXPECT_EQ(file.error().code, "not_local") << path;
  }
}

// Classic files with fixed and record variables; with a lone record variable, which is not padded.
class CutFile : public testing::TestWithParam<int> {};

std::string write_classic(const TempDir& folder, int mode, bool lone) {
  const std::string path = folder.path() / "whole.nc";
  NetcdfWriter writer(path, mode);
  const int time = writer.dimension("time", NC_UNLIMITED), x = writer.dimension("x", 333);
  writer.text(NC_GLOBAL, "title", "cut me");
  const int fixed = writer.variable("fixed", NC_DOUBLE, {x});
  std::vector<int> records{writer.variable("flag", NC_BYTE, {time, x})};
  if (!lone) records.push_back(writer.variable("value", NC_FLOAT, {time, x}));
  writer.write(fixed, {0}, {333}, std::vector<double>(333, 7));
  for (const int v : records) writer.write(v, {0, 0}, {25, 333}, std::vector<double>(std::size_t{25} * 333, 3));
  return path;
}

TEST_P(CutFile, IsRefusedWhereverItIsCut) {
  for (const bool lone : {false, true}) {
    const TempDir folder;
    const std::string whole = test::file_bytes(write_classic(folder, GetParam(), lone));
    ASSERT_GT(whole.size(), 10000U);
    EXPECT_EQ(why_refused(folder.path() / "whole.nc"), "");
    std::vector<std::size_t> cuts{1, 4, 7, 8, 31, 32, 33, 100, 150, 200, 250, whole.size() - 4};
    for (std::size_t at = 1024; at < whole.size(); at += 1024) cuts.push_back(at);
    for (const std::size_t at : cuts) {
      EXPECT_TRUE(contains(why_refused(folder.write("cut.nc", whole.substr(0, at))), "cut off"))
          << at << " of " << whole.size() << (lone ? ", lone record variable" : "");
    }
  }
}
INSTANTIATE_TEST_SUITE_P(Formats, CutFile, testing::Values(0, NC_64BIT_OFFSET, NC_64BIT_DATA));

TEST(NetcdfFile, AClassicFeedFileIsRefusedWhereverItIsCut) {
  if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside this checkout";
  const TempDir folder;
  const std::string whole = test::file_bytes(test::shared_folder() + "/feeds/a_grid/skinnywms_mslp.nc");
  ASSERT_GT(whole.size(), 1000000U);
  for (std::size_t at = 1024; at < whole.size(); at += std::size_t{64} * 1024)
    EXPECT_TRUE(contains(why_refused(folder.write("cut.nc", whole.substr(0, at))), "cut off")) << at;
}

TEST(NetcdfFile, ADamagedHeaderIsRefusedNotBelieved) {
  const TempDir folder;
  std::string bytes = test::file_bytes(write_classic(folder, 0, false));
  std::string many = bytes;
  many[12] = '\x7f';  // two thousand million dimensions
  EXPECT_NE(why_refused(folder.write("many.nc", many)), "");
  std::string open = bytes;
  for (std::size_t i = 4; i < 8; ++i) open[i] = '\xff';  // records never counted
  EXPECT_TRUE(contains(why_refused(folder.write("open.nc", open)), "not closed"));
}

TEST(NetcdfFile, GroupsTextAndUserTypesAreSeen) {
  const TempDir folder;
  const std::string path = folder.path() / "groups.nc";
  {
    NetcdfWriter writer(path, NC_NETCDF4);
    const int x = writer.dimension("x", 2), width = writer.dimension("width", 5), time = writer.dimension("time", NC_UNLIMITED);
    writer.variable("x", NC_FLOAT, {x});
    const int names = writer.variable("names", NC_CHAR, {x, width});
    const int words = writer.variable("words", NC_STRING, {x});
    writer.variable("empty", NC_FLOAT, {time});
    int group = -1, value = -1, kind = -1, odd = -1;
    test::check_netcdf(nc_def_grp(writer.file(), "forecast", &group));
    test::check_netcdf(nc_def_var(group, "t2m", NC_FLOAT, 1, &x, &value));
    const char* units = "K";
    test::check_netcdf(nc_put_att_string(group, value, "units", 1, &units));
    test::check_netcdf(nc_def_enum(writer.file(), NC_BYTE, "sky", &kind));
    const signed char clear = 0;
    test::check_netcdf(nc_insert_enum(writer.file(), kind, "clear", &clear));
    test::check_netcdf(nc_def_var(writer.file(), "sky_now", kind, 1, &x, &odd));
    nc_enddef(writer.file());
    test::check_netcdf(nc_put_var_text(writer.file(), names, "north\0sou\0"));
    const char* two[] = {"one", "two"};
    test::check_netcdf(nc_put_var_string(writer.file(), words, two));
  }
  const auto file = NetcdfFile::open(path);
  ASSERT_TRUE(file) << file.error().what;
  const auto t2m = file->find("forecast/t2m");
  ASSERT_TRUE(t2m);
  EXPECT_EQ(file->variables()[*t2m].text("units"), "K");
  EXPECT_EQ(file->resolve(*t2m, "x"), file->find("x"));
  EXPECT_EQ(file->resolve(*t2m, "t2m"), t2m);
  EXPECT_EQ(file->resolve(*t2m, "/x"), file->find("x"));
  EXPECT_FALSE(file->resolve(*file->find("x"), "t2m"));
  EXPECT_EQ(*file->read_text(*file->find("words")), (std::vector<std::string>{"one", "two"}));
  EXPECT_EQ((*file->read_text(*file->find("names")))[0], "north");
  EXPECT_TRUE(file->read_all(*file->find("empty"))->empty());
  EXPECT_EQ(file->variables()[*file->find("sky_now")].unreadable, "its type 'sky' is an enumeration");
  EXPECT_FALSE(file->read_all(*file->find("sky_now")));
}

// A dataset of HDF5 that says to be packed by a filter. It is optional, so that a library without it can write the file.
std::string write_filtered(const TempDir& folder, H5Z_filter_t filter) {
  const std::string path = folder.path() / "filter.nc";
  const hid_t file = H5Fcreate(path.c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT), creation = H5Pcreate(H5P_DATASET_CREATE);
  const hsize_t size = 8;
  const hid_t space = H5Screate_simple(1, &size, nullptr);
  H5Pset_chunk(creation, 1, &size);
  H5Pset_filter(creation, filter, H5Z_FLAG_OPTIONAL, 0, nullptr);
  const hid_t dataset = H5Dcreate2(file, "t2m", H5T_IEEE_F32LE, space, H5P_DEFAULT, creation, H5P_DEFAULT);
  EXPECT_GE(dataset, 0);
  H5Dclose(dataset);
  H5Sclose(space);
  H5Pclose(creation);
  H5Fclose(file);
  return path;
}

TEST(NetcdfFile, AnUnknownFilterIsNamed) {
  for (const auto& [filter, words] : {std::pair(32015, "filter 32015 (Zstandard) is not known here"),
                                      {40123, "filter 40123 is not known here"}}) {  // of somebody's own
    const TempDir folder;
    const std::string path = write_filtered(folder, filter);
    const auto opened = NetcdfFile::open(path);
    ASSERT_TRUE(opened) << opened.error().what;
    EXPECT_EQ(opened->variables()[*opened->find("t2m")].unreadable, words);
    const Inspection seen = inspect({}, path, {}, {});
    EXPECT_FALSE(seen.accepted);
    ASSERT_FALSE(seen.refused.empty());
    EXPECT_EQ(seen.refused[0].variable, "t2m");
    EXPECT_TRUE(contains(seen.refused[0].why, words)) << seen.refused[0].why;
    EXPECT_TRUE(contains(seen.refused[0].hint, "deflate"));
  }
}

TEST(NetcdfFile, CompoundsAndListsArePassedOverByName) {
  const TempDir folder;
  const std::string path = folder.path() / "types.nc";
  {
    NetcdfWriter writer(path, NC_NETCDF4);
    const int x = writer.dimension("station", 2), time = writer.dimension("time", 1);
    const int t = writer.variable("time", NC_DOUBLE, {time}), lat = writer.variable("lat", NC_DOUBLE, {x}),
              lon = writer.variable("lon", NC_DOUBLE, {x}), t2m = writer.variable("t2m", NC_FLOAT, {time, x});
    writer.text(t, "units", "hours since 2027-03-30 00:00");
    writer.text(lat, "units", "degrees_north");
    writer.text(lon, "units", "degrees_east");
    writer.text(t2m, "units", "degC");
    writer.text(t2m, "coordinates", "lat lon");
    int pair = -1, list = -1, id = -1;
    test::check_netcdf(nc_def_compound(writer.file(), 2 * sizeof(float), "pair", &pair));
    test::check_netcdf(nc_insert_compound(writer.file(), pair, "u", 0, NC_FLOAT));
    test::check_netcdf(nc_insert_compound(writer.file(), pair, "v", sizeof(float), NC_FLOAT));
    test::check_netcdf(nc_def_vlen(writer.file(), "list", NC_FLOAT, &list));
    test::check_netcdf(nc_def_var(writer.file(), "wind", pair, 1, &x, &id));
    test::check_netcdf(nc_def_var(writer.file(), "gusts", list, 1, &x, &id));
    writer.write(t, {0}, {1}, {0});
    writer.write(lat, {0}, {2}, {-36, -37});
    writer.write(lon, {0}, {2}, {145, 146});
    writer.write(t2m, {0, 0}, {1, 2}, {20, 22});
  }
  const Inspection seen = inspect({}, path, PointOfInterest{-37, 146}, {});
  ASSERT_TRUE(seen.accepted);
  EXPECT_EQ(seen.at->values.at("air_temperature"), std::vector<float>{22});
  std::string notes;
  for (const std::string& note : seen.notes) notes += note + "\n";
  EXPECT_TRUE(contains(notes, "wind is passed over: its type 'pair' is a compound")) << notes;
  EXPECT_TRUE(contains(notes, "gusts is passed over: its type 'list' is of variable length")) << notes;
}

TEST(NetcdfFile, AZarrStoreIsNamedWhateverItsVersion) {
  for (const char* mark : {".zgroup", ".zarray", ".zmetadata", "zarr.json"}) {
    const TempDir folder;
    folder.write(std::string("run.zarr/") + mark, "{\"zarr_format\": 2}");
    EXPECT_TRUE(contains(why_refused(folder.path() / "run.zarr"), "Zarr store")) << mark;
    EXPECT_TRUE(contains(why_refused(folder.path() / "run.zarr#mode=zarr,file"), "Zarr store")) << mark;
  }
  EXPECT_TRUE(contains(why_refused("file:///data/run#mode=zarr"), "Zarr store"));
}

TEST(NetcdfFile, ALocalFileIsReadWhateverItsName) {
  const TempDir folder;
  const std::string name = folder.path() / "run#mode=bytes.nc";
  std::filesystem::copy_file(write_classic(folder, 0, false), name);
  const auto file = NetcdfFile::open(name);
  ASSERT_TRUE(file) << file.error().what;
  EXPECT_TRUE(file->find("fixed"));
}

}  // namespace
}  // namespace hakea::ingest
