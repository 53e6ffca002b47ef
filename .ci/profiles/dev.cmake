# Everything, quick to build, warnings are errors.
include(${CMAKE_CURRENT_LIST_DIR}/common.cmake)
hakea_quick_linker()
set(CMAKE_BUILD_TYPE None CACHE STRING "")
set(CMAKE_CXX_FLAGS "-O1 -g1 -fpch-preprocess -D_GLIBCXX_ASSERTIONS" CACHE STRING "")
set(HAKEA_WERROR ON CACHE BOOL "")
set(HAKEA_UNITY ON CACHE BOOL "")
