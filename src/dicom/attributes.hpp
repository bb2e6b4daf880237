#pragma once

#include <optional>
#include <string>
#include <vector>

#include <dcmtk/config/osconfig.h>

#include <dcmtk/dcmdata/dctk.h>

namespace canalrule::dicom {

/// "Rows (0028,0010)": an attribute as refusals and notes name it.
std::string attribute_name(const DcmTagKey& tag);

/// The values of a text or number-as-text attribute, without the blanks around them; none where it is
/// missing or empty. What is not printable ASCII becomes '?', so that it can stand in any text.
std::vector<std::string> texts(DcmItem& item, const DcmTagKey& tag);

/// The first of texts(), or an empty text.
std::string text(DcmItem& item, const DcmTagKey& tag);

/// The values as they stand, joined by backslashes: what a message quotes.
std::string quoted(const std::vector<std::string>& values);

/// A DICOM decimal or integer string (PS3.5 6.2: DS, IS) as a finite number; nothing where it is none.
std::optional<double> number(const std::string& text);

/// An unsigned short (US); nothing where it is missing.
std::optional<int> unsigned_short(DcmItem& item, const DcmTagKey& tag);

/// A value of ambiguous VR, US or SS (PS3.5 annex A.1), as the 16 bits it is written in.
std::optional<int> sixteen_bits(DcmItem& item, const DcmTagKey& tag);

}  // namespace canalrule::dicom
