// Chunks decoded here hold the same bits as the library's reading.
#include "ingest/format/chunk_reader.h"

#include <gtest/gtest.h>
#include <hdf5.h>

#include <array>
#include <bit>
#include <cmath>
#include <filesystem>
#include <random>
#include <set>

#include "tests/support/case_file.h"
#include "tests/support/netcdf_writer.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

using test::NetcdfWriter;

// All numbers of a variable, put together from its chunks.
std::vector<double> by_chunks(const ChunkReader& reader, const std::vector<std::size_t>& shape) {
  std::size_t size = 1;
  for (const std::size_t n : shape) size *= n;
  std::vector<double> all(size);
  if (size == 0) return all;
  std::vector<std::size_t> origin(shape.size(), 0);
  while (true) {
    auto stored = reader.fetch(origin);
    if (!stored) throw std::runtime_error(stored.error().what);
    const auto values = reader.decode(std::move(*stored));
    if (!values) throw std::runtime_error(values.error().what);
    std::size_t in_chunk = 1;
    for (const std::size_t n : values->extent) in_chunk *= n;
    values->visit([&](const auto at) {
      for (std::size_t i = 0; i < in_chunk; ++i) {
        std::size_t left = i, to = 0, step = 1;
        bool inside = true;
        for (std::size_t d = shape.size(); d-- > 0;) {
          const std::size_t index = origin[d] + left % values->extent[d];
          left /= values->extent[d];
          inside = inside && index < shape[d];
          to += index * step;
          step *= shape[d];
        }
        if (inside) all[to] = at(i);
      }
    });
    std::size_t d = shape.size();
    while (d-- > 0) {
      origin[d] += reader.chunk_shape()[d];
      if (origin[d] < shape[d]) break;
      origin[d] = 0;
    }
    if (d == SIZE_MAX) return all;
  }
}

void expect_same_bits(const NetcdfFile& file, std::size_t variable, const std::string& what) {
  const auto reader = ChunkReader::open(file, variable);
  ASSERT_TRUE(reader) << what << ": " << reader.error().what;
  const auto expected = *file.read_all(variable), found = by_chunks(*reader, file.shape_of(variable));
  ASSERT_EQ(found.size(), expected.size()) << what;
  std::size_t different = 0;
  for (std::size_t i = 0; i < found.size(); ++i) {
    if (std::bit_cast<std::uint64_t>(found[i]) != std::bit_cast<std::uint64_t>(expected[i]) &&
        !(std::isnan(found[i]) && std::isnan(expected[i])))
      ++different;
  }
  EXPECT_EQ(different, 0U) << what;
}

struct Kind {
  const char* name;
  int mode;
  nc_type type;
  NetcdfWriter::Storage storage;
  bool direct;
};
const Kind kKinds[] = {
    {"float, deflate and shuffle", NC_NETCDF4, NC_FLOAT, {{1, 7, 11}, true, false, 1}, true},
    {"float, deflate alone", NC_NETCDF4, NC_FLOAT, {{3, 5, 5}, false, false, 6}, true},
    {"float, shuffle alone", NC_NETCDF4, NC_FLOAT, {{3, 5, 5}, true, false, 0}, true},
    {"double along time", NC_NETCDF4, NC_DOUBLE, {{9, 2, 3}, true, false, 1}, true},
    {"short, one chunk", NC_NETCDF4, NC_SHORT, {{9, 13, 17}, true, false, 1}, true},
    {"unsigned short", NC_NETCDF4, NC_USHORT, {{2, 13, 17}, true, false, 1}, true},
    {"byte", NC_NETCDF4, NC_BYTE, {{2, 4, 4}, true, false, 1}, true},
    {"unsigned byte", NC_NETCDF4, NC_UBYTE, {{2, 4, 4}, false, false, 1}, true},
    {"int", NC_NETCDF4, NC_INT, {{4, 4, 4}, true, false, 1}, true},
    {"unsigned int", NC_NETCDF4, NC_UINT, {{4, 4, 4}, false, false, 0}, true},
    {"long", NC_NETCDF4, NC_INT64, {{4, 4, 4}, true, false, 1}, true},
    {"big-endian float", NC_NETCDF4, NC_FLOAT, {{1, 7, 11}, true, false, 1, NC_ENDIAN_BIG}, true},
    {"big-endian short, plain", NC_NETCDF4, NC_SHORT, {{1, 7, 11}, false, false, 0, NC_ENDIAN_BIG}, true},
    {"with checksums", NC_NETCDF4, NC_FLOAT, {{1, 7, 11}, true, true, 1}, false},
    {"contiguous", NC_NETCDF4, NC_FLOAT, {}, false},
    {"classic", 0, NC_FLOAT, {}, false},
    {"64-bit offset", NC_64BIT_OFFSET, NC_SHORT, {}, false},
    {"CDF-5", NC_64BIT_DATA, NC_DOUBLE, {}, false},
};

TEST(ChunkReader, HoldsTheSameBitsAsTheLibraryForEveryStorage) {
  const test::TempDir folder;
  for (const Kind& kind : kKinds) {
    for (const bool unlimited : {false, true}) {
      if (unlimited && kind.mode == NC_NETCDF4 && kind.storage.chunk.empty()) continue;  // an unlimited dimension has chunks
      const std::string path = folder.path() / "file.nc", what = std::string(kind.name) + (unlimited ? ", unlimited" : "");
      {
        NetcdfWriter writer(path, kind.mode);
        const int t = writer.dimension("time", unlimited ? NC_UNLIMITED : 9), y = writer.dimension("y", 13),
                  x = writer.dimension("x", 17);
        const int v = kind.mode == NC_NETCDF4 ? writer.variable("v", kind.type, {t, y, x}, kind.storage)
                                              : writer.variable("v", kind.type, {t, y, x});
        std::mt19937 random(5);
        std::vector<double> values;
        for (int i = 0; i < 9 * 13 * 17; ++i) values.push_back(static_cast<double>(random() % 120));
        writer.write(v, {0, 0, 0}, {9, 13, 17}, values);
      }
      const auto file = NetcdfFile::open(path);
      ASSERT_TRUE(file) << what;
      const auto reader = ChunkReader::open(*file, *file->find("v"));
      ASSERT_TRUE(reader) << what;
      EXPECT_EQ(reader->is_direct(), kind.direct) << what;
      expect_same_bits(*file, *file->find("v"), what);
    }
  }
}

TEST(ChunkReader, AChunkNeverWrittenHoldsTheFillValue) {
  const test::TempDir folder;
  const std::string path = folder.path() / "gap.nc";
  {
    NetcdfWriter writer(path, NC_NETCDF4);
    const int t = writer.dimension("time", 4), x = writer.dimension("x", 10);
    const int own = writer.variable("own", NC_SHORT, {t, x}, {{1, 5}, true, false, 1});
    const short fill = -99;
    test::check_netcdf(nc_put_att_short(writer.file(), own, "_FillValue", NC_SHORT, 1, &fill));
    const int usual = writer.variable("usual", NC_FLOAT, {t, x}, {{1, 5}, true, false, 1});
    for (const int v : {own, usual}) writer.write(v, {2, 0}, {1, 7}, {1, 2, 3, 4, 5, 6, 7});
  }
  const auto file = NetcdfFile::open(path);
  ASSERT_TRUE(file);
  expect_same_bits(*file, *file->find("own"), "own fill value");
  expect_same_bits(*file, *file->find("usual"), "the library's fill value");
  EXPECT_EQ(by_chunks(*ChunkReader::open(*file, *file->find("own")), {4, 10})[0], -99);
}

TEST(ChunkReader, AVariableWithFewerRecordsThanItsDimensionIsFilledUp) {
  const test::TempDir folder;
  const std::string path = folder.path() / "short.nc";
  {
    NetcdfWriter writer(path, NC_NETCDF4);
    const int t = writer.dimension("time", NC_UNLIMITED), x = writer.dimension("x", 3);
    writer.write(writer.variable("long", NC_FLOAT, {t, x}, {{2, 3}, true, false, 1}), {0, 0}, {5, 3}, std::vector<double>(15, 1));
    writer.write(writer.variable("short", NC_FLOAT, {t, x}, {{2, 3}, true, false, 1}), {0, 0}, {3, 3}, std::vector<double>(9, 2));
  }
  const auto file = NetcdfFile::open(path);
  ASSERT_TRUE(file);
  expect_same_bits(*file, *file->find("long"), "long");
  expect_same_bits(*file, *file->find("short"), "short");
  EXPECT_GT(by_chunks(*ChunkReader::open(*file, *file->find("short")), {5, 3})[9], 1e36);
}

TEST(ChunkReader, HoldsTheSameBitsAsTheLibraryOnRealFiles) {
  if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside this checkout";
  std::size_t compared = 0, direct = 0;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(test::shared_folder() + "/feeds")) {
    const auto file = entry.is_regular_file() ? NetcdfFile::open(entry.path()) : Result<NetcdfFile>(Error{});
    if (!file) continue;
    for (std::size_t v = 0; v < file->variables().size(); ++v) {
      if (!file->variables()[v].unreadable.empty() || file->variables()[v].type == ValueType::text) continue;
      // the library itself reads what was never set where a variable has one dimension twice
      const auto& dimensions = file->variables()[v].dimensions;
      if (std::set(dimensions.begin(), dimensions.end()).size() < dimensions.size()) continue;
      expect_same_bits(*file, v, entry.path().string() + " " + file->variables()[v].name);
      direct += ChunkReader::open(*file, v)->is_direct();
      ++compared;
    }
  }
  EXPECT_GE(compared, 300U);
  EXPECT_GE(direct, 20U);
}

TEST(ChunkReader, ADamagedChunkIsAnErrorNotAValue) {
  const test::TempDir folder;
  const std::string path = folder.path() / "damaged.nc";
  {
    NetcdfWriter writer(path, NC_NETCDF4);
    const int x = writer.dimension("x", 4000);
    std::vector<double> values;
    for (int i = 0; i < 4000; ++i) values.push_back(i % 97);
    writer.write(writer.variable("v", NC_FLOAT, {x}, {{4000}, true, false, 1}), {0}, {4000}, values);
  }
  const auto file = NetcdfFile::open(path);
  const auto reader = ChunkReader::open(*file, 0);
  const std::size_t origin[] = {0};
  for (std::size_t at : {0U, 40U, 200U}) {
    auto stored = reader->fetch(origin);
    ASSERT_TRUE(stored);
    ASSERT_GT(stored->bytes.size(), 250U);
    stored->bytes.data()[at] ^= 0x55;
    const auto values = reader->decode(std::move(*stored));
    ASSERT_FALSE(values) << at;
    EXPECT_EQ(values.error().code, "damaged");
  }
}

TEST(ChunkReader, WhatNobodyWroteIsNotZero) {
  const test::TempDir folder;
  const std::string path = folder.path() / "plain.h5";
  {
    // Written by HDF5 itself, which fills with zeros what has no value.
    const hid_t file = H5Fcreate(path.c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT);
    const hsize_t length = 4, chunk = 2, start = 0;
    const hid_t space = H5Screate_simple(1, &length, nullptr), memory = H5Screate_simple(1, &chunk, nullptr),
                creation = H5Pcreate(H5P_DATASET_CREATE);
    H5Pset_chunk(creation, 1, &chunk);
    const hid_t set = H5Dcreate2(file, "v", H5T_IEEE_F32LE, space, H5P_DEFAULT, creation, H5P_DEFAULT);
    H5Sselect_hyperslab(space, H5S_SELECT_SET, &start, nullptr, &chunk, nullptr);
    const std::array<float, 2> values{7, 8};
    ASSERT_GE(H5Dwrite(set, H5T_NATIVE_FLOAT, memory, space, H5P_DEFAULT, values.data()), 0);
    H5Dclose(set), H5Pclose(creation), H5Sclose(memory), H5Sclose(space), H5Fclose(file);
  }
  const auto file = NetcdfFile::open(path);
  ASSERT_TRUE(file) << file.error().what;
  const auto reader = ChunkReader::open(*file, *file->find("v"));
  ASSERT_TRUE(reader) << reader.error().what;
  const auto values = by_chunks(*reader, {4});
  EXPECT_EQ(values[1], 8);
  EXPECT_TRUE(std::isnan(values[2])) << values[2];
  EXPECT_TRUE(std::isnan(values[3])) << values[3];
}

}  // namespace
}  // namespace hakea::ingest
