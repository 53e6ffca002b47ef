// Map projections of weather grids, from CF grid mappings or the proj4 text some writers give instead.
//
// The only door to PROJ; it never looks anything up on the network or in a database of systems. One thread at a time per
// object.
#pragma once

#include <memory>
#include <string>

#include "core/base/result.h"
#include "ingest/format/netcdf_file.h"

namespace hakea::ingest {

struct PlanePosition {
  double x = 0, y = 0;
};  // metres, or degrees for a rotated pole
struct GeoPosition {
  double latitude_deg = 0, longitude_deg = 0;
};

class Projection {
 public:
  // From the grid mapping variable of a file. Errors: unsupported (the mapping's name), incomplete (the parameter missing).
  static Result<Projection> of(const Variable& mapping);
  // From a PROJ string of ours or a cleaned one of a file.
  static Result<Projection> of_definition(const std::string& definition);

  PlanePosition forward(GeoPosition position) const;  // NaN where the projection has no image
  GeoPosition inverse(PlanePosition position) const;

  // Where the grid's y axis points, degrees clockwise from true north: what is added to the direction of a grid-relative
  // wind (atmosphere.md 2.2). From neighbouring points, to 1e-5 degrees.
  double rotation_deg(GeoPosition position) const;

  bool in_degrees() const { return in_degrees_; }    // the plane is a rotated globe
  const std::string& kind() const { return kind_; }  // "lambert_conformal_conic", …; for reports
  const std::string& definition() const { return definition_; }
  bool figure_assumed() const { return figure_assumed_; }  // the file states no size of the earth; a sphere of 6371229 m is taken

 private:
  struct Engine;
  std::shared_ptr<const Engine> engine_;
  bool in_degrees_ = false, figure_assumed_ = false;
  std::string kind_, definition_;
};

}  // namespace hakea::ingest
