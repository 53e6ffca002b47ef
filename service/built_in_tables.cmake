# Writes the tables of config/ into a source file:
#   cmake -DOUT=FILE -DFOLDER=…/config "-DTABLES=a.toml;b/c.csv" -P built_in_tables.cmake
set(source "// Made at build time from config/.\n#include \"service/input/built_in_tables.h\"\n\nnamespace hakea::service {\n\nstd::string_view built_in_table(std::string_view path) {\n")
foreach(table IN LISTS TABLES)
  file(READ "${FOLDER}/${table}" text)
  # String literals have a largest size that compilers must take; pieces side by side are one literal.
  string(REGEX REPLACE "\n([^\n])" "\n)table\" R\"table(\\1" text "${text}")
  string(APPEND source "  if (path == \"${table}\") return R\"table(${text})table\";\n")
endforeach()
string(APPEND source "  return {};\n}\n\n}  // namespace hakea::service\n")
file(WRITE "${OUT}" "${source}")
