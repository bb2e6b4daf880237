#pragma once

#include <canalrule/audit/row.hpp>
#include <canalrule/film/film.hpp>
#include <canalrule/record/case_list.hpp>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace canalrule {

/// The picture of a case: what draws it, and the ending of its file's name, ".svg". No function: no pictures.
struct CasePicture {
  std::string ending;
  std::function<std::vector<std::uint8_t>(const Film&, const Result&)> draw;
};

/// What an audit is asked to do.
struct AuditPlan {
  CaseList list;
  std::string criteria_json;     ///< the text of the criteria file
  std::string criteria_file;     ///< as refusals name it
  std::filesystem::path output;  ///< a folder; it is made where it isn't there
  /// What tells which pseudonym stands for whom; outside the output folder, so that the two can be kept
  /// apart. Where it is there already, the pseudonyms in it are used again.
  std::filesystem::path key_file;
  std::string opencv;  ///< the version of what films are filtered with
  AuditPart part;
  std::size_t jobs = 1;  ///< workers; 1 or more
  Identities identities = Identities::pseudonyms;
  CasePicture picture;
};

struct AuditProgress {
  std::size_t cases = 0;     ///< of this part
  std::size_t done = 0;      ///< measured, kept from before, or failed
  std::size_t measured = 0;  ///< by this run
  std::size_t kept = 0;      ///< measured by an earlier run, or by this one for an equal case
  std::size_t failed = 0;
};

/// What the caller hears while it runs; calls come from the workers, one at a time.
struct AuditWatch {
  std::function<void(const AuditProgress&)> progress;
  /// A case that failed, as "case B7 (line 17): what is wrong".
  std::function<void(const std::string&)> failed;
  std::function<bool()> stop_wanted;  ///< asked between cases
};

enum class AuditEnd { complete, stopped };

struct AuditOutcome {
  AuditEnd end = AuditEnd::complete;
  AuditProgress progress;
  std::size_t own_faults = 0;  ///< of the failed: those that this program is to blame for
};

/// Measures the cases of a part of the list by `jobs` workers, one case in memory for each. What is found is
/// kept at once in the output folder under a fingerprint of reading, film and program, so that a run that was
/// stopped or killed goes on where it was and nothing is measured twice; after the last case the rows are
/// written in the list's order (see AuditFolder), whole or not at all. The same list gives the same bytes,
/// whatever happened on the way and on any number of workers. A case that can't be measured is a row with its
/// reason. Refuses (unwritable_output) a folder that can't be written or that another run holds, and
/// (unusable_input) criteria that can't be used.
AuditOutcome run_audit(const AuditPlan& plan, const AuditWatch& watch);

/// Puts the finished parts of one audit together in `output`, as one run over all would have written it, and
/// the keys that lie beside them into `key_file`. Refuses (unusable_input) parts that don't belong together,
/// stand twice, are missing or not finished.
void join_audits(const std::vector<std::filesystem::path>& parts, const std::filesystem::path& output,
                 const std::filesystem::path& key_file);

/// Which of a list's further columns the output holds as they are, and which it leaves out since their names say that
/// they hold a patient or a file.
struct ListColumns {
  std::vector<std::string> kept, left_out;
};
ListColumns columns_of(const CaseList& list, Identities identities);

/// What lies in a folder that holds no audit, finished or not, and isn't one's; hidden files apart. Missing: an audit
/// may write there, and the folder be given away.
std::optional<std::filesystem::path> no_audits_in(const std::filesystem::path& folder);

/// Where the key to a folder's pseudonyms lies unless told: beside it, "results.key.csv" for "results".
std::filesystem::path key_file_beside(const std::filesystem::path& output);

}  // namespace canalrule
