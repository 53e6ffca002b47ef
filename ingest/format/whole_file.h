// What a file is by its first bytes, and whether all of it is there.
//
// NetCDF-C opens a classic file that was cut off and reads the missing part as zeros, without an error. So the header is
// read here first, after the format's published grammar (NetCDF Users Guide, "File Format Specifications"), and the size it
// implies is held against the file's. An HDF5 file states its own end in its superblock (HDF5 File Format Specification 3.0,
// II.A). A GRIB file is a row of messages, each of which states its length and ends with "7777" (WMO Manual on Codes, FM 92).
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>

#include "core/base/result.h"

namespace hakea::ingest {

enum class FileKind { classic, offset_64bit, cdf5, hdf5, grib, station_table };

// `descriptor` is open for reading; `path` is for messages. Errors: "foreign" (something else, named in words), "truncated"
// (with the bytes found and expected), "damaged" (a header that contradicts itself), "unreadable".
Result<FileKind> check_whole(int descriptor, const std::string& path);

// Copies up to `bytes` bytes from place `at` of a file, and says how many it had.
using ReadAt = std::function<std::size_t(std::uint64_t at, void* to, std::size_t bytes)>;

// The same of bytes that lie anywhere: the answer follows from the size and the bytes read, which are those of the header for a
// classic file, of the superblock for HDF5, of the beginnings and ends of the messages for GRIB.
Result<FileKind> check_whole(const ReadAt& read, std::uint64_t size, const std::string& path);

}  // namespace hakea::ingest
