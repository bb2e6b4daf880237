#pragma once

#include <string>

namespace canalrule::dicom {

/// The version of DCMTK that DICOM files are read with, "major.minor.patch".
std::string toolkit_version();

}  // namespace canalrule::dicom
