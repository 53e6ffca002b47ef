// A variable of a run's files that may become a field: what it means, when and where.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "ingest/cf/coordinates.h"
#include "ingest/cf/roles.h"
#include "ingest/feed.h"
#include "ingest/format/netcdf_file.h"

namespace hakea::ingest {

struct OpenFile {
  std::size_t index = 0;  // into the run's files
  NetcdfFile file;
  FileCoordinates coordinates;
  std::optional<UtcTime> reference;

  OpenFile(std::size_t i, NetcdfFile f, const Feed& feed) : index(i), file(std::move(f)), coordinates(file, feed.time_unit) {}
};

struct Candidate {
  OpenFile* source = nullptr;
  std::size_t variable = 0;
  Meaning meaning;
  TimeCoordinate time;
  std::size_t grid = 0;
  std::vector<std::size_t> horizontal;  // dimensions of the file
  MemberCoordinate members;
  const Variable& v() const { return source->file.variables()[variable]; }
};

}  // namespace hakea::ingest
