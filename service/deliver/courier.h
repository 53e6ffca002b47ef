// Takes what is due from the outbox, sends it and writes down what became of it. At least once: a message whose end was not
// written is sent again, under the same id.
#pragma once

#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "service/base/clock.h"
#include "service/deliver/attempt.h"
#include "service/deliver/settings.h"
#include "service/input/subscription_json.h"
#include "service/store/store.h"

namespace hakea::service {

class Courier {
 public:
  struct Parcel {
    DeliveryRow delivery;
    ChannelRow channel;
    SubscriptionEntry to;
    std::vector<EventRow> events;
  };
  // How a parcel is sent. Called from several threads.
  using Send = std::function<Attempt(const Parcel& parcel)>;

  // `store` and `clock` must outlive it. Leases of before the start are taken back.
  static Result<std::unique_ptr<Courier>> start(Store& store, Clock& clock, Send send);
  ~Courier();

  void wake();  // something new is due

 private:
  Courier(Store& store, Clock& clock, Send send);
  void work(const std::stop_token& stop);
  bool send_next();  // false when nothing is due
  void deliver(DeliveryRow delivery);
  std::optional<Parcel> parcel_of(DeliveryRow& delivery);
  void write(Parcel& parcel, const Attempt& attempt);
  void tell_owner(const Parcel& parcel);

  Store& store_;
  AlertStore& alerts_;
  Clock& clock_;
  const Send send_;
  std::mutex waiting_;
  std::condition_variable_any woken_;
  std::set<std::string> busy_;         // subscriptions that are being sent to
  std::vector<std::jthread> workers_;  // last: end before what they use
};

// By webhook and mail, as the settings say.
Courier::Send sender(DeliverSettings settings, std::string origin);

}  // namespace hakea::service
