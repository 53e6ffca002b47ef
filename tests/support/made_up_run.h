// Runs of a forecast that never was: small NetCDF files over three by three cells.
#pragma once

#include <string>

#include "core/base/time.h"

namespace hakea::test {

// What a made-up run says; the weather repeats daily, warmest at 14 hours of Brisbane.
struct MadeUpRun {
  std::string name = "run.nc", feed = "fine";
  int reference_h = 12;  // hours after 2027-03-29T00Z
  int last_lead_h = 72, step_h = 1;
  double warmer = 0;                 // degrees above the usual
  int rain_from = -1, rain_to = -1;  // hours of lead with 4 mm each
  int gap_from = -1, gap_to = -1;    // hours of lead that are left out
  int members = 0;                   // of an ensemble, each 1.5 degrees warmer than the one before
};

// Hours after 2027-03-29T00Z.
UtcTime made_up_time(double hours);

// Written under a hidden name beside the folder of its feed and renamed into place; the path.
std::string write_made_up_run(const MadeUpRun& run, const std::string& path);

}  // namespace hakea::test
