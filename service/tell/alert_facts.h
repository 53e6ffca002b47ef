// What a picture says that people may have to be told, read off for core/alert.
#pragma once

#include "core/alert/facts.h"
#include "service/engine/snapshot.h"

namespace hakea::service {

// The facts hold the zones of the picture's units: it must outlive them.
core::AlertFacts alert_facts(const Snapshot& snapshot);

// What makes an hour dangerous to a burn that is alight: its rank, 0 for no danger seen. Of a prescription that was confirmed the
// FFDI of its days-after limits counts too.
int danger_rank(const core::UnitHours& hours, std::size_t i, const core::Prescription& prescription);

}  // namespace hakea::service
