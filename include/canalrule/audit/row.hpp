#pragma once

#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>
#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

/// What an audit is made of: one row a case, in it one row a canal. Tables, summary and page are all made
/// from these rows and from nothing else.
namespace canalrule {

/// One criterion on one canal.
struct CriterionVerdict {
  Verdict verdict = Verdict::not_assessable;
  std::optional<double> probability_within;
  std::string reason;  ///< for a person: why not assessable, or what decided
};

struct CanalRow {
  /// Every figure with its standard uncertainty (k = 1), what isn't assessable with its reason, the canal's
  /// warnings, each void with its place. Left out: drawn_path, centre_line, against_plan.width, and all of
  /// width but the first and the last.
  CanalResult figures;
  /// In the order of AuditHead::criteria.criteria, one for each.
  std::vector<CriterionVerdict> verdicts;
  /// All criteria together: outside where one is outside; else not assessable where one isn't; else too close
  /// to call where one is; else within.
  Verdict together = Verdict::not_assessable;
};

enum class CaseStatus { measured, failed };

/// Whether operators, readers and patients stand in the output under pseudonyms or as the list names them.
enum class Identities { pseudonyms, as_given };

struct CaseRow {
  std::size_t index = 0;  ///< place in the case list, the first being 0
  std::size_t line = 0;   ///< line of the case list, as a person counts
  std::string name;       ///< the list's `case`
  CaseStatus status = CaseStatus::failed;
  std::string reason;  ///< why it could not be measured, one sentence; empty where it was

  std::string operated_by;  ///< pseudonym of the list's `operator`; empty where it names none
  std::string read_by;      ///< pseudonym of the list's `reader`, else of the reading's; empty where neither
  std::string patient;      ///< pseudonym of the list's `patient`; empty where it names none
  /// One for each of AuditHead::columns.
  std::vector<std::string> values;

  // Where status is measured:
  std::string tooth;           ///< ISO 3950, the reading's, else the list's `tooth`; may be empty
  std::string film_sha256;     ///< the same film twice is a film read twice
  std::string reading_sha256;  ///< the same reading twice is no second reading
  ScaleResult scale;
  std::vector<Note> warnings;  ///< of the film and the case; each canal has its own
  std::string picture;         ///< file name relative to the output folder; empty where none was asked for
  std::vector<CanalRow> canals;
};

/// One of the equal shares that an audit is split into for several machines.
struct AuditPart {
  std::size_t number = 1;  ///< from 1 to `of`
  std::size_t of = 1;
  friend bool operator==(const AuditPart&, const AuditPart&) = default;
};

/// What holds for the whole audit.
struct AuditHead {
  std::string program;    ///< "canalrule 0.1.0"
  std::string opencv;     ///< the version of what films are filtered with
  std::string list_mark;  ///< tells one case list from another; it gives nothing away of what is in it
  std::string criteria_sha256;
  std::string criteria_json;  ///< the criteria file's text
  Criteria criteria;
  std::size_t cases = 0;  ///< rows of the whole list
  /// The list's further columns that are kept, in its order: all but `case`, `reading`, `operator`, `reader`,
  /// `patient`, `tooth`, and those that name a patient.
  std::vector<std::string> columns;
  std::vector<std::string> columns_left_out;  ///< because they name a patient or a file
  Identities identities = Identities::pseudonyms;
  /// Two audits with the same mark use the same pseudonyms for the same people; empty where there are none.
  std::string pseudonyms_mark;
};

/// Calls a function with every row, in the list's order. A pass reads the rows from the disk, one at a time:
/// hundreds of thousands of rows need not fit into memory. Every pass gives the same rows.
using RowVisitor = std::function<void(const CaseRow&)>;
using RowSource = std::function<void(const RowVisitor&)>;

}  // namespace canalrule
