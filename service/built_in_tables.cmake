# Writes the tables of config/ into a source file:
#   cmake -DOUT=FILE -DTABLES=a.toml;b.toml -P built_in_tables.cmake
set(source "// Made at build time from config/.\n#include \"service/input/built_in_tables.h\"\n\nnamespace hakea::service {\n\nstd::string_view built_in_table(std::string_view file_name) {\n")
foreach(table IN LISTS TABLES)
  get_filename_component(name "${table}" NAME)
  file(READ "${table}" text)
  # String literals have a largest size that compilers must take; pieces side by side are one literal.
  string(REPLACE "\n\n" "\n\n)table\" R\"table(" text "${text}")
  string(APPEND source "  if (file_name == \"${name}\") return R\"table(${text})table\";\n")
endforeach()
string(APPEND source "  return {};\n}\n\n}  // namespace hakea::service\n")
file(WRITE "${OUT}" "${source}")
