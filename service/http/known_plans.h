// Answers to what was asked of a picture's plan, so that the same question is thought about once. Those of an older picture
// are forgotten with the first of a newer one.
#pragma once

#include <map>
#include <mutex>
#include <optional>
#include <string>

namespace hakea::service {

class KnownPlans {
 public:
  std::optional<std::string> find(std::uint64_t picture, const std::string& question) const {
    const std::lock_guard lock(mutex_);
    const auto found = picture == picture_ ? answers_.find(question) : answers_.end();
    return found == answers_.end() ? std::nullopt : std::optional(found->second);
  }
  void keep(std::uint64_t picture, const std::string& question, const std::string& answer) {
    const std::lock_guard lock(mutex_);
    if (picture < picture_) return;
    if (picture > picture_ || answers_.size() >= kMost) answers_.clear();
    picture_ = picture;
    answers_[question] = answer;
  }

 private:
  static constexpr std::size_t kMost = 64;

  mutable std::mutex mutex_;
  std::uint64_t picture_ = 0;
  std::map<std::string, std::string> answers_;  // by question
};

}  // namespace hakea::service
