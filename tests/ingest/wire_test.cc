// What the parent makes of messages that a damaged reader could send.
#include "ingest/arrival/wire.h"

#include <gtest/gtest.h>

#include <bit>

namespace hakea::ingest {
namespace {

TEST(Wire, BringsBackWhatWasSent) {
  RunPlan sent;
  sent.steps = {UtcTime(std::chrono::hours(1))};
  sent.fields.resize(2);
  sent.fields[1].decoding.offset = 256;
  sent.fields[1].decoding.missing = {-1, 5};
  sent.notes = {"a note", ""};
  RunPlan got;
  ASSERT_TRUE(wire::unpack(wire::pack(sent), got));
  ASSERT_EQ(got.fields.size(), 2U);
  EXPECT_EQ(got.fields[1].decoding.offset, 256);
  EXPECT_EQ(got.fields[1].decoding.missing, sent.fields[1].decoding.missing);
  EXPECT_EQ(got.steps, sent.steps);
  EXPECT_EQ(got.notes, sent.notes);
}

// A plan takes hundreds of bytes in memory: room for as many as a message has bytes would be the parent's end.
TEST(Wire, AListGrowsOnlyWithWhatIsThere) {
  std::string message(100'000, '\xff');
  const std::size_t announced = message.size() - sizeof(std::size_t);
  message.replace(0, sizeof announced, std::bit_cast<std::array<char, sizeof announced>>(announced).data(), sizeof announced);
  std::vector<FieldPlan> fields;
  EXPECT_FALSE(wire::unpack(message, fields));
  EXPECT_LT(fields.size(), 10U);
}

TEST(Wire, EveryByteIsATruthOrNone) {
  bool value = false;
  EXPECT_TRUE(wire::unpack(std::string(1, '\x07'), value));
  EXPECT_EQ(static_cast<int>(value), 1);
}

TEST(Wire, WhatIsCutOffOrTooLongIsNotRead) {
  const std::string whole = wire::pack(std::string("word"), std::vector<double>{1, 2});
  for (std::size_t bytes = 0; bytes < whole.size(); ++bytes) {
    std::string word;
    std::vector<double> numbers;
    EXPECT_FALSE(wire::unpack(whole.substr(0, bytes), word, numbers)) << bytes;
  }
  std::string word;
  std::vector<double> numbers;
  EXPECT_FALSE(wire::unpack(whole + "x", word, numbers));
}

}  // namespace
}  // namespace hakea::ingest
