# What all profiles share. Used as initial cache: cmake -C .ci/profiles/dev.cmake -S . -B build/dev -G Ninja
find_program(HAKEA_CCACHE ccache)
if(HAKEA_CCACHE)
  # Compiled headers are told apart by what is in them.
  set(CMAKE_CXX_COMPILER_LAUNCHER ${CMAKE_COMMAND} -E env CCACHE_SLOPPINESS=pch_defines,time_macros ${HAKEA_CCACHE} CACHE STRING "")
endif()

macro(hakea_quick_linker)  # for builds that are only run here
  find_program(HAKEA_MOLD mold)
  if(HAKEA_MOLD)
    set(CMAKE_EXE_LINKER_FLAGS "-fuse-ld=mold" CACHE STRING "")
  endif()
endmacro()
