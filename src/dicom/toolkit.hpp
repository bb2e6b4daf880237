#pragma once

#include <string>

namespace canalrule::dicom {

/// Makes DCMTK ready, once for the process and safely from any thread: its decoders registered, its log
/// listened to in place of printed (refusals and notes say what there is to say). Refuses where its data
/// dictionary is missing, since attributes would be read wrongly. `file` is the file that the refusal names.
void prepare_toolkit(const std::string& file);

/// How many times DCMTK has said on this thread that packed pixel data is damaged. Its JPEG decoders go on
/// where data is missing, and only their log tells.
int damage_reports();

/// Throws a Refusal (unusable_input) that names the file.
[[noreturn]] void refuse(const std::string& file, const std::string& attribute, const std::string& what,
                         const std::string& remedy);

}  // namespace canalrule::dicom
