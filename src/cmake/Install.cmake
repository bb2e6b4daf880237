# What `cmake --install` puts in place: the program, the library, its headers, criteria, rubrics and
# feedback, and a package that find_package(canalrule) finds.
include(CMakePackageConfigHelpers)

install(TARGETS canalrule EXPORT canalrule_targets)
install(TARGETS canalrule_program)
if(canalrule_has_window)
  install(TARGETS canalrule_window_module DESTINATION "${CMAKE_INSTALL_LIBDIR}/canalrule")
endif()
install(DIRECTORY "${PROJECT_SOURCE_DIR}/include/canalrule" DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}")
foreach(folder criteria rubrics feedback)
  install(DIRECTORY "${PROJECT_SOURCE_DIR}/docs/${folder}" DESTINATION "${CMAKE_INSTALL_DATADIR}/canalrule")
endforeach()

set(package_folder "${CMAKE_INSTALL_LIBDIR}/cmake/canalrule")
install(EXPORT canalrule_targets FILE canalruleTargets.cmake NAMESPACE canalrule:: DESTINATION "${package_folder}")
configure_package_config_file("${PROJECT_SOURCE_DIR}/src/cmake/canalruleConfig.cmake.in"
  "${PROJECT_BINARY_DIR}/canalruleConfig.cmake" INSTALL_DESTINATION "${package_folder}")
write_basic_package_version_file("${PROJECT_BINARY_DIR}/canalruleConfigVersion.cmake"
  COMPATIBILITY SameMinorVersion)
install(FILES
  "${PROJECT_BINARY_DIR}/canalruleConfig.cmake" "${PROJECT_BINARY_DIR}/canalruleConfigVersion.cmake"
  "${PROJECT_SOURCE_DIR}/src/cmake/FindOpenCVModules.cmake"
  DESTINATION "${package_folder}")
