// From one variable of a file to what reading it takes: how its numbers are packed, where its cells lie, and a look at a
// few of its values where the header alone does not decide.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "ingest/cf/coordinates.h"
#include "ingest/cf/roles.h"
#include "ingest/grid/grid.h"
#include "ingest/grid/sample.h"

namespace hakea::ingest {

// Packing and missing values as the attributes say (CF 2.5.1, 8.1; NUG for _Unsigned), with the unit's conversion on top.
Decoding decoding_of(const Variable& variable, const Meaning& meaning);

// A raw number as the wanted unit; NaN where missing or implausible.
double decoded(const Decoding& decoding, double raw);

// One horizontal slice, decoded: the first index of every dimension but those given. At most about a million values, from
// the middle; of a variable chunked along time, one chunk, and all its times where no slice is given.
struct Slice {
  int dimension = -1;
  std::size_t index = 0;
};
std::vector<double> look_at(const NetcdfFile& file, std::size_t variable, const Decoding& decoding,
                            const std::vector<std::size_t>& horizontal_dimensions, Slice at);

// What the values say of a share whose unit leaves open whether it is percent or a fraction; settles the meaning's unit.
// Errors: unit_doubtful.
std::optional<Error> settle_unit(const NetcdfFile& file, std::size_t variable,
                                 const std::vector<std::size_t>& horizontal_dimensions, Meaning& meaning);

// The grids of a run, each built once however many files repeat it.
class Grids {
 public:
  explicit Grids(std::optional<StatedGrid> stated) : stated_(std::move(stated)) {}

  // Where the file leaves the place of a variable's cells unsaid and the feed states a grid: rows and columns are its last
  // two dimensions but for those with another role.
  void lay(HorizontalCoordinates& horizontal, const NetcdfFile& file, std::size_t variable,
           const std::vector<std::size_t>& other_roles) const;
  Result<std::size_t> of(const NetcdfFile& file, const FileCoordinates& coordinates, const HorizontalCoordinates& horizontal);
  const std::vector<Grid>& all() const { return grids_; }
  std::vector<std::string> take_notes() { return std::exchange(notes_, {}); }

 private:
  Result<Grid> build(const NetcdfFile& file, const FileCoordinates& coordinates, const HorizontalCoordinates& horizontal);
  std::optional<StatedGrid> stated_;
  std::vector<Grid> grids_;
  std::map<std::string, std::size_t> known_;
  std::vector<std::string> notes_;
};

}  // namespace hakea::ingest
