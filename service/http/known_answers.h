// Answers as they were last written, so that what everybody asks for is written and compressed once a picture. By what was
// asked for and what the answer rests on; those of an older picture go with the first of a newer one, else those that were
// not asked for longest.
#pragma once

#include <cstdint>
#include <list>
#include <map>
#include <memory>
#include <mutex>
#include <random>
#include <string>
#include <utility>

#include "service/http/message.h"

namespace hakea::service {

struct KnownAnswer {
  KnownAnswer(Response known, std::shared_ptr<const std::string> text, std::shared_ptr<const KeptFile> bytes = nullptr)
      : answer(std::move(known)), fields(std::move(text)), file(std::move(bytes)) {}
  Response answer;                            // its bytes are `kept`
  std::shared_ptr<const std::string> fields;  // its content type and headers as they are sent
  std::shared_ptr<const KeptFile> file;       // its bytes once more, or null
};

class KnownAnswers {
 public:
  // Null where there is none.
  std::shared_ptr<const KnownAnswer> find(const std::string& key);
  // Keeps an answer within so many bytes of all together.
  void keep(std::uint64_t picture, const std::string& key, std::shared_ptr<const KnownAnswer> answer, std::size_t bytes_at_most);
  std::size_t bytes() const;
  // Another with every start of the service or of its engine, where pictures are counted anew.
  std::uint32_t beginning() const { return beginning_; }

 private:
  struct Known {
    std::shared_ptr<const KnownAnswer> answer;
    std::size_t bytes = 0;
    std::list<std::string>::iterator turn;
  };
  void forget(std::map<std::string, Known>::iterator known);

  const std::uint32_t beginning_ = std::random_device{}();
  mutable std::mutex lock_;
  std::uint64_t picture_ = 0;
  std::size_t bytes_ = 0;
  std::map<std::string, Known> answers_;
  std::list<std::string> turns_;  // keys, those asked for last in front
};

}  // namespace hakea::service
