// Requests that a caller may send again without its being carried out twice (draft-ietf-httpapi-idempotency-key-header):
// those with an Idempotency-Key. What was carried out is known with what it wrote, in one transaction, for a day; the same
// request again gets the first answer, whether or not the service ended in between. What was refused wrote nothing, so it is
// not known and may be mended and sent again under the same key.
#pragma once

#include "service/http/call.h"

namespace hakea::service {

// The answer of a writing handler, or of the request's first time.
Response answer_once(Call& call, bool needs_key, Response (*answer)(const Call&));

}  // namespace hakea::service
