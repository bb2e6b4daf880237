#include "transfer_syntax.hpp"

#include <algorithm>
#include <array>

#include "toolkit.hpp"

namespace canalrule::dicom {

namespace {

constexpr std::array syntaxes{
    TransferSyntax{EXS_LittleEndianImplicit, "implicit little endian", Packing::plain, false},
    TransferSyntax{EXS_LittleEndianExplicit, "explicit little endian", Packing::plain, false},
    TransferSyntax{EXS_BigEndianExplicit, "explicit big endian", Packing::plain, false},
    TransferSyntax{EXS_DeflatedLittleEndianExplicit, "deflated", Packing::plain, false},
    TransferSyntax{EXS_RLELossless, "RLE", Packing::rle, false},
    TransferSyntax{EXS_JPEGProcess1, "JPEG baseline", Packing::jpeg_dct, true},
    TransferSyntax{EXS_JPEGProcess2_4, "JPEG extended", Packing::jpeg_dct, true},
    TransferSyntax{EXS_JPEGProcess14, "JPEG lossless", Packing::jpeg_lossless, false},
    TransferSyntax{EXS_JPEGProcess14SV1, "JPEG lossless, first-order prediction", Packing::jpeg_lossless,
                   false},
    TransferSyntax{EXS_JPEGLSLossless, "JPEG-LS lossless", Packing::jpeg_ls, false},
    TransferSyntax{EXS_JPEGLSLossy, "JPEG-LS near-lossless", Packing::jpeg_ls, true},
};

}  // namespace

TransferSyntax transfer_syntax(E_TransferSyntax id, const std::string& file) {
  const auto found = std::find_if(syntaxes.begin(), syntaxes.end(),
                                  [id](const TransferSyntax& known) { return known.id == id; });
  if (found != syntaxes.end()) return *found;
  const DcmXfer other(id);
  refuse(file, "", "the film is packed as " + std::string(other.getXferName()) + ", which is not read",
         "convert it to an uncompressed transfer syntax, JPEG lossless or JPEG-LS");
}

std::uint64_t fewest_bytes(Packing packing, std::uint64_t pixels, std::uint64_t bytes_per_pixel) {
  switch (packing) {
    case Packing::plain: return pixels * bytes_per_pixel;
    case Packing::rle: return pixels * bytes_per_pixel / 64;  // two bytes give at most 128 (PS3.5 G.3.1)
    case Packing::jpeg_lossless: return pixels / 8;           // a Huffman code has at least one bit
    case Packing::jpeg_dct: return pixels / 512;              // one code for each block of 64 pixels
    case Packing::jpeg_ls: return 1;                          // runs go on to the end of a line
  }
  return 1;
}

}  // namespace canalrule::dicom
