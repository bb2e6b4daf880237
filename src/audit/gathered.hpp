#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <canalrule/audit/summary.hpp>

#include "figures.hpp"
#include "names.hpp"

namespace canalrule::audit {

/// A criterion split by thirds: the three criteria that it is judged by.
struct ThirdCriteria {
  std::size_t criterion = 0;  ///< place in the audit's criteria
  Criterion apical, middle, coronal;
};

/// Who and what a case belongs to, by the numbers of Gathered's names.
struct Belonging {
  std::uint32_t operated_by = 0, read_by = 0;
  std::size_t tooth_group = 0;
  std::vector<std::uint32_t> values;  ///< one for each of the list's columns
};

struct ReadingNote {
  Belonging belongs;
  std::uint32_t film = 0;     ///< film and tooth
  std::uint32_t cluster = 0;  ///< patient, or film where none is named
};

struct VoidNote {
  double from_mm = 0.0, to_mm = 0.0, length_mm = 0.0;
  VoidKind kind = VoidKind::inside;
  bool at_backfill = false;
};

/// One canal of one reading, as small as the sums need it.
struct CanalNote {
  std::uint32_t reading = 0;    ///< place in Gathered::readings
  std::uint32_t canal = 0;      ///< the same for the same canal of the same film
  bool first = true;            ///< no reading before shows this canal
  bool first_of_reader = true;  ///< no reading before of the same reader does
  /// That count by Gathered::selection; missing: not assessable at all.
  std::optional<std::vector<VoidNote>> voids;
  std::vector<std::pair<double, double>> voids_unseen;  ///< stretches in which they can't be told, mm
  /// Of the criteria, then all together, then apical, middle and coronal of each of Gathered::thirds.
  std::vector<Verdict> verdicts;
  /// Of the criteria, numbers in Gathered::reasons; empty where all of them are assessable.
  std::vector<std::uint32_t> reasons;
  std::array<std::optional<Quantity>, figure_count> figures;  ///< as audit::figures()
  std::optional<double> coronal_level_mm;
};

/// What one pass over the rows leaves in memory.
struct Gathered {
  std::size_t criteria = 0;  ///< how many
  std::vector<ReadingNote> readings;
  std::vector<CanalNote> canals;
  std::vector<Belonging> failed;
  std::vector<ThirdCriteria> thirds;
  VoidSelection selection;
  std::string selected_by;
  Names people, clusters;
  std::vector<Note> reasons;  ///< by their number: code, and the first sentence for the criterion
  std::vector<Names> values;  ///< of each of the list's columns
  Counts counts;
};

Gathered gather(const AuditHead& head, const RowSource& rows);

}  // namespace canalrule::audit
