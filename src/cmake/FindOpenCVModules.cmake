# OpenCV's core and imgproc, from its own package file where there is one, else from the two small
# development packages, which bring none. Gives canalrule::opencv_core and canalrule::opencv_imgproc.
# The headers are SYSTEM: they warn under C++20.
foreach(module core imgproc)
  if(TARGET canalrule::opencv_${module})
    continue()
  endif()
  find_path(CANALRULE_OPENCV_${module}_INCLUDE opencv2/${module}.hpp PATH_SUFFIXES opencv4)
  find_library(CANALRULE_OPENCV_${module}_LIBRARY opencv_${module})
  if(NOT CANALRULE_OPENCV_${module}_INCLUDE OR NOT CANALRULE_OPENCV_${module}_LIBRARY)
    message(FATAL_ERROR "OpenCV's ${module} was not found: install libopencv-${module}-dev")
  endif()
  add_library(canalrule::opencv_${module} UNKNOWN IMPORTED)
  set_target_properties(canalrule::opencv_${module} PROPERTIES
    IMPORTED_LOCATION "${CANALRULE_OPENCV_${module}_LIBRARY}"
    INTERFACE_INCLUDE_DIRECTORIES "${CANALRULE_OPENCV_${module}_INCLUDE}")
endforeach()
