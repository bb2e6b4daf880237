#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include <canalrule/statistics/agreement.hpp>
#include <canalrule/statistics/kappa.hpp>
#include <canalrule/statistics/proportion.hpp>

/// How well readings of the same film agree.
namespace canalrule {

/// One figure, read twice.
struct FigureAgreement {
  std::string figure;  ///< as FigureSpread::figure
  std::string title;
  std::string unit;
  std::size_t missing = 0;  ///< canals where one reading or both don't give it
  statistics::BlandAltman bland_altman;
  statistics::Estimate dahlberg;
  statistics::Icc icc;
  /// For the plot: the pairs themselves, in the list's order; evenly thinned to at most 500 (chosen here).
  std::vector<statistics::Pair> points;
};

/// One criterion, judged twice. Categories in their order: outside, too close to call, within.
struct VerdictAgreement {
  std::string criterion;  ///< its id; empty for all together
  std::string text;
  statistics::CategoryTable table;
  std::size_t not_assessable_once = 0, not_assessable_twice = 0;  ///< pairs that aren't in the table
  statistics::Kappa simple, linear, quadratic;
  statistics::PairedCounts within;         ///< within or not (outside and too close to call), of the table
  statistics::Estimate within_difference;  ///< first's share within minus second's
};

/// Readings of the same canals, two by two.
struct PairAgreement {
  enum class Kind {
    between_readers,  ///< the first reading of each of two named readers
    within_reader,    ///< the first and second reading of one reader
    reader_unnamed    ///< first and second reading, the list and the readings not saying whose
  };
  Kind kind = Kind::between_readers;
  std::string first, second;  ///< readers' names
  std::size_t films = 0, canals = 0;
  std::vector<FigureAgreement> figures;
  std::vector<VerdictAgreement> verdicts;  ///< one a criterion, then all together
};

/// All readers at once, over the canals that every one of them read.
struct JointAgreement {
  std::vector<std::string> readers;
  std::size_t canals = 0;
  struct Figure {
    std::string figure, title, unit;
    std::size_t missing = 0;
    statistics::Icc icc;
  };
  std::vector<Figure> figures;
  std::string reason;  ///< why there is none (fewer than three readers have canals in common); else empty
};

/// How much of the spread is the reader and how much the measuring.
struct SpreadSplit {
  std::string figure, title, unit;
  statistics::VarianceSplit split;
};

struct Agreement {
  std::size_t films_read_again = 0;
  std::size_t canals_read_again = 0;
  /// Most canals first, then by name; at most 12 (chosen here), the rest counted.
  std::vector<PairAgreement> pairs;
  std::size_t pairs_left_out = 0;
  /// Those who read least of more than 60 readers (chosen here): they are not set side by side with others, since
  /// the pairs of readers of one film grow with the square of their number.
  std::size_t readers_left_out = 0;
  JointAgreement joint;
  std::vector<SpreadSplit> spread;
  std::string reason;  ///< why there is none at all; empty where there is
};

}  // namespace canalrule
