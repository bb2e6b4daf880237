# What a person who configures the build may choose, and the compiler flags every target gets.
option(CANALRULE_TESTS "Build the tests and the benchmark" ON)
option(CANALRULE_WARNINGS_ARE_ERRORS "Stop at the first compiler warning" OFF)
option(CANALRULE_SANITIZE "Build with the address and undefined-behaviour sanitizers" OFF)
set(CANALRULE_WINDOW AUTO CACHE STRING "Build the window of `canalrule draw`: ON, OFF, or AUTO: where Qt 6 is found")
set_property(CACHE CANALRULE_WINDOW PROPERTY STRINGS AUTO ON OFF)

if(NOT CMAKE_BUILD_TYPE AND NOT CMAKE_CONFIGURATION_TYPES)
  set(CMAKE_BUILD_TYPE Release CACHE STRING "Release, RelWithDebInfo or Debug" FORCE)
endif()

find_program(CANALRULE_CCACHE ccache)
if(CANALRULE_CCACHE AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
  set(CMAKE_CXX_COMPILER_LAUNCHER "${CANALRULE_CCACHE}")
endif()

set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_POSITION_INDEPENDENT_CODE ON)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)

add_library(canalrule_flags INTERFACE)
if(MSVC)
  target_compile_options(canalrule_flags INTERFACE /W4 $<$<BOOL:${CANALRULE_WARNINGS_ARE_ERRORS}>:/WX>)
else()
  # No contraction to fused multiply-add: the same film gives the same bytes on every machine. Nothing reads
  # errno after mathematics or waits for its traps, and no function is replaced from outside. No folder of this
  # machine in what is built.
  target_compile_options(canalrule_flags INTERFACE
    -Wall -Wextra -Wpedantic -Wconversion -Wshadow
    -ffp-contract=off -fno-math-errno -fno-trapping-math -fno-semantic-interposition
    "-ffile-prefix-map=${PROJECT_SOURCE_DIR}/=" "-ffile-prefix-map=${PROJECT_BINARY_DIR}/="
    $<$<BOOL:${CANALRULE_WARNINGS_ARE_ERRORS}>:-Werror>)
  if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU" AND CMAKE_CXX_COMPILER_VERSION VERSION_LESS 13)
    # GCC 12 warns of overlapping copies inside std::string's own operator+ (its bug 105651).
    target_compile_options(canalrule_flags INTERFACE -Wno-restrict)
  endif()
endif()
if(CANALRULE_SANITIZE)
  target_compile_options(canalrule_flags INTERFACE -fsanitize=address,undefined -fno-omit-frame-pointer)
  target_link_options(canalrule_flags INTERFACE -fsanitize=address,undefined)
endif()
