// Tells the service manager how we are (the notification protocol of systemd: one datagram to a socket that it names in
// NOTIFY_SOCKET). Nothing happens where nobody asked.
#pragma once

#include <string_view>

namespace hakea::service {

// Assignments separated by newlines, such as "READY=1". False when somebody asked and could not be told.
bool notify_manager(std::string_view state);

}  // namespace hakea::service
