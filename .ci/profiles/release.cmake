# The program alone, as it is shipped.
include(${CMAKE_CURRENT_LIST_DIR}/common.cmake)
set(CMAKE_BUILD_TYPE Release CACHE STRING "")
set(CMAKE_CXX_FLAGS "-fpch-preprocess" CACHE STRING "")
set(HAKEA_TESTS OFF CACHE BOOL "")
