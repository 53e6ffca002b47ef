// A file without a name in the temporary folder, for what is too large for memory or wanted as a file; and writing to such.
#pragma once

#include <cstddef>

namespace hakea::ingest {

// Vanishes with its descriptor, whatever becomes of this process; -1 where the folder takes none.
int scratch_file();

// All of it, however often the system takes only a part; false when it takes no more, errno says why.
bool write_all(int descriptor, const void* from, std::size_t bytes);
// The same from a place of the file on, wherever it is otherwise written and read.
bool write_all_at(int descriptor, const void* from, std::size_t bytes, std::size_t offset);
bool read_all_at(int descriptor, void* to, std::size_t bytes, std::size_t offset);

}  // namespace hakea::ingest
