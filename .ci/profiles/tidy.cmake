# For clang-tidy: configured only, never built; it reads compile_commands.json.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_DISABLE_PRECOMPILE_HEADERS ON CACHE BOOL "")  # each file must include what it uses
