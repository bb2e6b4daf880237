# libcsv, which brings no package file of its own. Gives canalrule::csv.
if(NOT TARGET canalrule::csv)
  find_path(CANALRULE_CSV_INCLUDE csv.h)
  find_library(CANALRULE_CSV_LIBRARY csv)
  if(NOT CANALRULE_CSV_INCLUDE OR NOT CANALRULE_CSV_LIBRARY)
    message(FATAL_ERROR "libcsv was not found: install libcsv-dev")
  endif()
  add_library(canalrule::csv UNKNOWN IMPORTED)
  set_target_properties(canalrule::csv PROPERTIES
    IMPORTED_LOCATION "${CANALRULE_CSV_LIBRARY}"
    INTERFACE_INCLUDE_DIRECTORIES "${CANALRULE_CSV_INCLUDE}")
endif()
