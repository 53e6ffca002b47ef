// The bytes of a long answer that is kept, a second time as a file in memory: the system sends a file's pages to any number of
// callers from where they are, which for 50 kB spares half of the work of an answer.
#pragma once

#include <cstddef>
#include <memory>
#include <string_view>

namespace hakea::service {

class KeptFile {
 public:
  // Null where it is not worth it, so many are kept already that descriptors would run short, or the system refuses.
  static std::shared_ptr<const KeptFile> of(std::string_view bytes);
  ~KeptFile();
  KeptFile(const KeptFile&) = delete;
  KeptFile& operator=(const KeptFile&) = delete;

  // Hands over as much as the socket takes now, without waiting; how much that was. Where the socket has failed, or must not be
  // written to yet, it is nothing: who writes the rest finds out which. SIGPIPE must be ignored.
  std::size_t send_to(int socket) const;

 private:
  KeptFile(int descriptor, std::size_t size) : descriptor_(descriptor), size_(size) {}
  const int descriptor_;
  const std::size_t size_;
};

}  // namespace hakea::service
