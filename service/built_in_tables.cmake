# Writes files of a folder into a source file, as the function that a header declares:
#   cmake -DOUT=FILE -DFOLDER=… "-DTABLES=a.toml;b/c.csv" -DHEADER=service/….h -DFUNCTION=built_in_table -P built_in_tables.cmake
set(source "// Made at build time.\n#include \"${HEADER}\"\n\nnamespace hakea::service {\n\nstd::string_view ${FUNCTION}(std::string_view path) {\n")
foreach(table IN LISTS TABLES)
  file(READ "${FOLDER}/${table}" text)
  # String literals have a largest size that compilers must take; pieces side by side are one literal.
  string(REGEX REPLACE "\n([^\n])" "\n)table\" R\"table(\\1" text "${text}")
  string(APPEND source "  if (path == \"${table}\") return R\"table(${text})table\";\n")
endforeach()
string(APPEND source "  return {};\n}\n\n}  // namespace hakea::service\n")
file(WRITE "${OUT}" "${source}")
