#pragma once

#include <canalrule/audit/run.hpp>
#include <canalrule/base/refusal.hpp>
#include <filesystem>
#include <string>

#include "fingerprint.hpp"

namespace canalrule::audit {

/// What has come of one case.
struct Found {
  /// Only the first two are kept for a later run.
  enum class Kind { measured, failed, not_today, own_fault };
  Kind kind = Kind::failed;
  std::string reason;  ///< where it wasn't measured
  std::string result;  ///< as kept_result
};

/// What the picture of a case is called, by all that it shows: "0123….svg", in the folder of pictures. `key`
/// is that of the case's fingerprint.
std::string picture_file_of(const std::string& key, const AuditPlan& plan,
                            const std::string& criteria_sha256);

/// Why a case can't even be told from others: its reading or film is not there, or is none.
std::string reason_unopened(const std::filesystem::path& reading_file, const Refusal& refusal,
                            Identities identities);

/// Opens, measures, judges and draws one case; the picture is written before this returns. What the reading
/// or the film is to blame for is the case's reason. Refuses only (unwritable_output) a picture that can't be
/// written.
Found measure_case(const std::filesystem::path& reading_file, const Fingerprint& print, const AuditPlan& plan,
                   const Criteria& criteria, const std::filesystem::path& picture_file);

}  // namespace canalrule::audit
