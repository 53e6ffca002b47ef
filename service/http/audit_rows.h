// Which rows of the audit a caller sees.
#pragma once

#include "service/http/call.h"

namespace hakea::service {

// All of them, unless the caller's token is held to districts: then what is about these, their units and entries, or about
// tokens held to these.
bool may_see_audit_row(const Call& call, const AuditRow& row);

}  // namespace hakea::service
