// A unit's hours with its sheltered points in the open.
//
// Shade fails: that of a ridge moves on, that of smoke and leaves goes, and litter that was taken for shaded has carried fire
// out of a unit after two hours of sun (hard case H29 of the trade). So what is dangerous - stops, and the tail - is held
// against litter in the open as well, and the worse counts.
#pragma once

#include <memory>
#include <span>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "core/prescription/prescription.h"

namespace hakea::core {

// Whether a limit is of a hazard.
bool is_hazard(const Limit& limit);

class ExposedPoints {
 public:
  // `points[point][member]`, computed. Without a sheltered point, or a hazard that hangs on the moisture of its litter, there
  // are no hours.
  ExposedPoints(std::span<const std::vector<UnitHours>> points, const Prescription& prescription);

  // Shaped like the points; they must not outlive this.
  std::span<const std::vector<UnitHours>> hours() const { return hours_; }

 private:
  std::vector<std::unique_ptr<UnitTraits>> traits_;
  std::vector<std::vector<UnitHours>> hours_;
};

}  // namespace hakea::core
