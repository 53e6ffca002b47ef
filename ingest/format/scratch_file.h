// A file without a name in the temporary folder, for what is too large for memory or wanted as a file.
#pragma once

namespace hakea::ingest {

// Vanishes with its descriptor, whatever becomes of this process; -1 where the folder takes none.
int scratch_file();

}  // namespace hakea::ingest
