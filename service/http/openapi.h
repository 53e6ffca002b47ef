// The OpenAPI 3.1 document of the interface. Its sources are the files of service/http/openapi/, which people edit: one a
// resource, each an object of `paths` and `components`; they are built in, and put together at the first request.
#pragma once

#include <string>
#include <string_view>

namespace hakea::service {

// Text of one of the files; empty when there is none of that name. Made at build time.
std::string_view openapi_source(std::string_view file);
// The whole document, as JSON text.
const std::string& openapi_document();

}  // namespace hakea::service
