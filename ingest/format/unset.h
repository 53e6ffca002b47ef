// Room for numbers or bytes that are about to be filled, so it is not zeroed first.
#pragma once

#include <cstddef>
#include <memory>
#include <utility>

namespace hakea::ingest {

template <class T>
class Unset {
 public:
  Unset() = default;
  explicit Unset(std::size_t size) : data_(std::make_unique_for_overwrite<T[]>(size)), size_(size) {}
  Unset(Unset&& other) noexcept : data_(std::move(other.data_)), size_(std::exchange(other.size_, 0)) {}
  Unset& operator=(Unset&& other) noexcept {
    data_ = std::move(other.data_);
    size_ = std::exchange(other.size_, 0);
    return *this;
  }
  T* data() { return data_.get(); }
  const T* data() const { return data_.get(); }
  std::size_t size() const { return size_; }

 private:
  std::unique_ptr<T[]> data_;
  std::size_t size_ = 0;
};

using Bytes = Unset<unsigned char>;

}  // namespace hakea::ingest
