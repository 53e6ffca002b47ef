// A small district whose service tells a receiver what happens: its entries and configuration in a folder, runs that are there
// once they are put, and lives of the service that begin at an hour of the story.
//
//   a    a unit that keeps its limit by far, and is booked for the 31st
//   b    one that keeps it barely
//   c    one that is burning
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "service/base/clock.h"
#include "service/store/store.h"
#include "tests/support/daemon.h"
#include "tests/support/https_receiver.h"
#include "tests/support/made_up_run.h"
#include "tests/support/must.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {

// How a receiver is when the story begins.
enum class Receives { takes, fails, redirects, hangs, is_private, is_away };
const char* word(Receives receives);

class ToldStory {
 public:
  ToldStory(std::string program, Receives receives);

  // A run of the feed, so many degrees warmer than usual.
  void put(int reference_h, double warmer = 0) const;
  // From now on the receiver is there, can be reached and takes what comes.
  void mend();
  // An active subscription to everything, by a webhook; its id. Before the first life.
  std::string subscribe(const HttpsReceiver& to, const std::string& owner);
  // The service from an hour on (hours after 2027-03-29T00Z), and the seconds that this story has taken.
  std::unique_ptr<Daemon> life(double hours, Daemon::Returns returns = Daemon::Returns::when_it_listens) const;

  // Reads beside the service until something is so; false where it is not for two minutes.
  using Is = std::function<bool(service::AlertStore& kept)>;
  bool waits_until(const Is& is) const;
  std::vector<service::EventRow> events() const;
  std::vector<service::DeliveryRow> deliveries() const;  // oldest first

  HttpsReceiver receiver;
  std::string subscription;  // to it, of the owner "o"
  std::string token;         // a coordinator's

 private:
  void configure() const;
  std::unique_ptr<service::Store> beside() const { return must(service::Store::open_beside(data())); }
  std::string data() const { return (folder_.path() / "data").string(); }

  const std::string program_;
  TempDir folder_;
  std::vector<int> ports_;
  bool is_reachable_ = true, is_away_ = false;
  const service::Stopwatch since_start_;
};

// What an event tells whoever reads it, without what the second says in which it was told.
std::string told(const service::EventRow& event);

// Whether a run, such as "fine.2027-03-30T00:00:00Z", has been told of: then so has everything that follows from it.
bool is_told(service::AlertStore& kept, const std::string& run);
// Whether nothing waits to be sent.
bool is_all_sent(service::AlertStore& kept);

}  // namespace hakea::test
