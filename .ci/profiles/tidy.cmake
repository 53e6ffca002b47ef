# For clang-tidy: configured only, never built; it reads compile_commands.json.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
