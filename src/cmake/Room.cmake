# canalrule_room(NAME KNOWS room... LIBRARIES target... PUBLIC_LIBRARIES target...)
#
# A room is a folder under src/, a static library canalrule_NAME and a folder of public headers,
# include/canalrule/NAME. Its targets see the public headers of the rooms it KNOWS and no others:
# each room's headers are reached through a folder of their own in the build tree.
# LIBRARIES are seen by this room alone, PUBLIC_LIBRARIES also by those that know it; all of them are
# gathered for the library that the rooms make up together.
function(canalrule_room name)
  cmake_parse_arguments(room "" "" "KNOWS;LIBRARIES;PUBLIC_LIBRARIES" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/src/${name}/*.cpp")
  set(doors "${PROJECT_BINARY_DIR}/doors/${name}")
  file(MAKE_DIRECTORY "${doors}/canalrule")
  if(NOT EXISTS "${doors}/canalrule/${name}")
    file(CREATE_LINK "${PROJECT_SOURCE_DIR}/include/canalrule/${name}" "${doors}/canalrule/${name}"
      SYMBOLIC COPY_ON_ERROR)
  endif()
  add_library(canalrule_${name} STATIC ${sources})
  target_include_directories(canalrule_${name}
    PUBLIC "${doors}"
    PRIVATE "${PROJECT_SOURCE_DIR}/src/${name}")
  list(TRANSFORM room_KNOWS PREPEND canalrule_)
  set_property(GLOBAL APPEND PROPERTY canalrule_outside_libraries ${room_LIBRARIES} ${room_PUBLIC_LIBRARIES})
  target_link_libraries(canalrule_${name}
    PUBLIC ${room_KNOWS} ${room_PUBLIC_LIBRARIES}
    PRIVATE canalrule_flags ${room_LIBRARIES})
endfunction()
