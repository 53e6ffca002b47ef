#include "service/engine/assessment.h"

#include <gtest/gtest.h>

#include <stdexcept>

namespace hakea::service {
namespace {

TEST(Assess, WhatGoesWrongWithAUnitIsThrownToTheCaller) {
  const std::vector<Unit> units(5);
  const UnitWeather broken = [](const Unit&) -> std::vector<std::vector<core::UnitHours>> {
    throw std::runtime_error("no memory");
  };
  EXPECT_THROW(assess(units, District{}, broken, AssessmentCall{}), std::runtime_error);
}

}  // namespace
}  // namespace hakea::service
