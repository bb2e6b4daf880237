#include <canalrule/dicom/version.hpp>

#include <dcmtk/config/osconfig.h>

namespace canalrule::dicom {

std::string toolkit_version() { return PACKAGE_VERSION; }

}  // namespace canalrule::dicom
