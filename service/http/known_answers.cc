#include "service/http/known_answers.h"

namespace hakea::service {
namespace {

constexpr std::size_t kBesides = 1024;  // what an answer takes beside its bytes, its key twice and its fields twice

}  // namespace

std::shared_ptr<const KnownAnswer> KnownAnswers::find(const std::string& key) {
  const std::lock_guard hold(lock_);
  const auto known = answers_.find(key);
  if (known == answers_.end()) return nullptr;
  turns_.splice(turns_.begin(), turns_, known->second.turn);
  return known->second.answer;
}

void KnownAnswers::keep(std::uint64_t picture, const std::string& key, std::shared_ptr<const KnownAnswer> answer,
                        std::size_t bytes_at_most) {
  std::map<std::string, Known> of_before;  // let go after the lock
  const std::lock_guard hold(lock_);
  if (picture < picture_) return;  // of a caller that was still answered from the picture before
  if (picture > picture_) {
    of_before.swap(answers_);
    turns_.clear();
    bytes_ = 0;
    picture_ = picture;
  }
  if (const auto known = answers_.find(key); known != answers_.end()) forget(known);
  const std::size_t bytes =
      answer->answer.bytes().size() * (answer->file ? 2 : 1) + 2 * (key.size() + answer->fields->size()) + kBesides;
  if (bytes > bytes_at_most) return;
  while (bytes_ + bytes > bytes_at_most) forget(answers_.find(turns_.back()));
  turns_.push_front(key);
  answers_.emplace(key, Known{std::move(answer), bytes, turns_.begin()});
  bytes_ += bytes;
}

std::size_t KnownAnswers::bytes() const {
  const std::lock_guard hold(lock_);
  return bytes_;
}

void KnownAnswers::forget(std::map<std::string, Known>::iterator known) {
  bytes_ -= known->second.bytes;
  turns_.erase(known->second.turn);
  answers_.erase(known);
}

}  // namespace hakea::service
