#!/bin/bash
# Writes tests/data/grib with the tools of ecCodes (Debian: libeccodes-tools), from the library's own sample of a regular grid:
# air of 283.15 and 285.15 K at steps 1 and 2, rain of 1.5 mm and 4 mm since the start, the rate of rain at both instants, and a
# spread of members that is not the weather. Beside them fields on grids without rows and columns (a reduced Gaussian grid, waves),
# and wind along the axes of a rotated grid under numbers that no table knows.
set -euo pipefail
into=$(cd "$(dirname "${BASH_SOURCE[0]}")/../data" && pwd)/grib
sample=/usr/share/eccodes/samples/regular_ll_sfc_grib2.tmpl
work=$(mktemp -d)
trap 'rm -r "$work"' EXIT
run=dataDate=20270329,dataTime=1200,significanceOfReferenceTime=1
field() { grib_set -d "$2" -s "$run,$3" "$sample" "$work/$1"; }
since_start=productDefinitionTemplateNumber=8,shortName=tp,stepType=accum
field 1 283.15 shortName=2t,stepRange=1
field 2 285.15 shortName=2t,stepRange=2
field 3 0.0015 "$since_start,stepRange=0-1"
field 4 0.004 "$since_start,stepRange=0-2"
field 5 0.002 shortName=prate,stepRange=1
field 6 0.002 shortName=prate,stepRange=2
field 7 2.5 productDefinitionTemplateNumber=2,derivedForecast=2,shortName=2t,stepRange=1
mkdir -p "$into"
cat "$work"/[1-7] > "$into/steps_together.grib2"
cat "$work"/[135] > "$into/step_1.grib2"
cat "$work"/[246] > "$into/step_2.grib2"

samples=/usr/share/eccodes/samples
wind() { grib_set -s "$run,$3,typeOfFirstFixedSurface=103,scaledValueOfFirstFixedSurface=10,scaleFactorOfFirstFixedSurface=0" -d "$2" "$4" "$work/$1"; }
wind reduced 5 shortName=10u,stepRange=1 $samples/reduced_gg_pl_32_grib2.tmpl
grib_set -s "$run,shortName=t,stepRange=1" $samples/sh_pl_grib2.tmpl "$work/waves"
cat "$work/1" "$work/reduced" "$work/waves" "$work/2" > "$into/other_grids.grib2"
cp "$work/reduced" "$into/reduced_gaussian.grib2"
numbered=stepRange=1,discipline=0,parameterCategory=2,uvRelativeToGrid=1
wind x 3 $numbered,parameterNumber=200 $samples/rotated_ll_sfc_grib2.tmpl
wind y 4 $numbered,parameterNumber=201 $samples/rotated_ll_sfc_grib2.tmpl
cat "$work/x" "$work/y" > "$into/along_grid.grib2"
