#pragma once

#include <cstdint>
#include <string>

#include <dcmtk/config/osconfig.h>

#include <dcmtk/dcmdata/dctk.h>

namespace canalrule::dicom {

/// How the pixels are packed in the file.
enum class Packing { plain, rle, jpeg_dct, jpeg_lossless, jpeg_ls };

/// A transfer syntax that is read (PS3.5 annex A).
struct TransferSyntax {
  E_TransferSyntax id;
  const char* name;  ///< as Film::format says it
  Packing packing;
  bool loses;  ///< whether it changes values
};

/// What the data set was written in. Refuses every transfer syntax that isn't read, by its name.
TransferSyntax transfer_syntax(E_TransferSyntax id, const std::string& file);

/// The fewest bytes in which the packing can hold so many pixels of so many bytes: what a header that
/// promises more than its file holds is caught by, before anything is allocated for it.
std::uint64_t fewest_bytes(Packing packing, std::uint64_t pixels, std::uint64_t bytes_per_pixel);

}  // namespace canalrule::dicom
