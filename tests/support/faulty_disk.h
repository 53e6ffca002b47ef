// A disk that fails under SQLite, on purpose and at a place of one's choice.
//
// While one lives it is SQLite's default file system; it hands everything on to the real one and counts what changes the
// disk: writes, truncations, fsyncs. One thread; no database may be open when it begins or ends.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

namespace hakea::test {

enum class Fault {
  none,
  once,    // the n-th operation fails, and no other
  broken,  // it and all after it fail
  full,    // from it on no file can grow
  power,   // from it on nothing happens any more, and what was not brought to the disk by an fsync is gone
};

class FaultyDisk {
 public:
  FaultyDisk(Fault fault, int at);  // at: counted from 1
  ~FaultyDisk();
  FaultyDisk(const FaultyDisk&) = delete;
  FaultyDisk& operator=(const FaultyDisk&) = delete;

  int operations() const;
  bool has_struck() const;
  // After a power cut, with all databases closed: what stands on the disk.
  void lose_what_was_not_synced();

  struct State;

 private:
  std::unique_ptr<State> state_;
};

}  // namespace hakea::test
