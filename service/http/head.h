// The head of an answer as it is sent: status line and fields (RFC 9112 §4, §5). Written as text, because a third of the time
// of a short answer went into a container of fields and into walking over it piece by piece.
#pragma once

#include <string>

#include "service/http/message.h"

namespace hakea::service {

// Content-Type and the answer's own fields. None of them holds a line break: they are ours, or were looked at as they came.
void write_fields(std::string& head, const Response& answer);

struct HeadOptions {
  bool is_http_1_0 = false;  // of the request
  bool keeps = true;         // the connection
};
// The whole head with the blank line after it. An answer that goes on has no length: it ends with the connection.
void write_head(std::string& head, const Response& answer, HeadOptions options);

}  // namespace hakea::service
