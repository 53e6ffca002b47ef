# The program alone, as it is shipped. Warnings are the dev profile's to give: optimised further, this compiler warns of its own library.
include(${CMAKE_CURRENT_LIST_DIR}/common.cmake)
set(CMAKE_BUILD_TYPE Release CACHE STRING "")
set(CMAKE_CXX_FLAGS "-w -fpch-preprocess" CACHE STRING "")
set(HAKEA_UNITY ON CACHE BOOL "")
set(HAKEA_TESTS OFF CACHE BOOL "")
