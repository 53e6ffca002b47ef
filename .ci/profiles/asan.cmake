# Address and undefined-behaviour sanitizers. Warnings are the dev profile's to give.
include(${CMAKE_CURRENT_LIST_DIR}/common.cmake)
hakea_quick_linker()
set(CMAKE_BUILD_TYPE None CACHE STRING "")
set(CMAKE_CXX_FLAGS "-O1 -g1 -w -fpch-preprocess -D_GLIBCXX_ASSERTIONS" CACHE STRING "")
set(HAKEA_UNITY ON CACHE BOOL "")
set(HAKEA_SANITIZE "address,undefined" CACHE STRING "")
