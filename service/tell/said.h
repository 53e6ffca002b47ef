// What the digest said on earlier mornings, kept so that the next one can tell what changed.
#pragma once

#include <optional>
#include <string>

#include "service/store/store.h"
#include "service/tell/digest.h"

namespace hakea::service {

// The clock time of a district's digest, 06:30 unless its document says otherwise.
ClockTime digest_hour(const DistrictView& district);

// What was kept on the latest date before `date`, if anything was.
Result<std::optional<SaidBefore>> said_before(Store& store, const DistrictView& district, LocalDate date);

// At or after the digest hour of a date that has nothing kept yet, keeps what the picture says; true when it did.
// A district of which no run has been read yet is left for later.
Result<bool> keep_said(Store& store, const Snapshot& snapshot, const DistrictView& district, UtcTime now);

// The digest of a date as it would be read out now, with what changed since an earlier morning and what could be burnt together.
Result<Digest> digest_now(Store& store, const Snapshot& snapshot, const DistrictView& district, LocalDate date,
                          const core::ProgramSolver& solver);

}  // namespace hakea::service
