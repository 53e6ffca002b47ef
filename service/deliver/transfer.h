// What mail, webhooks and the keys of an identity provider have in common of libcurl, and the one place where it is made ready.
#pragma once

#include <curl/curl.h>

#include <chrono>
#include <memory>
#include <string>

namespace hakea::service {

using Transfer = std::unique_ptr<CURL, void (*)(CURL*)>;
using Lines = std::unique_ptr<curl_slist, void (*)(curl_slist*)>;

struct TransferTimes {
  std::chrono::milliseconds to_connect, whole;
};

// By the protocols that are named and no other, without a proxy; from any thread. Null where none can be made. `ca_file`:
// certificates beside the system's; empty: none.
Transfer make_transfer(const std::string& url, const char* protocol, TransferTimes times, const std::string& ca_file);

Lines no_lines();
void add_line(Lines& lines, const std::string& line);

}  // namespace hakea::service
