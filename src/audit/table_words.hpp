#pragma once

#include <canalrule/base/fault.hpp>
#include <canalrule/record/result.hpp>

/// The words of the tables; those of a result file.
namespace canalrule::audit {

inline const char* verdict_word(Verdict verdict) {
  switch (verdict) {
    case Verdict::within:
      return "within";
    case Verdict::outside:
      return "outside";
    case Verdict::too_close_to_call:
      return "too-close-to-call";
    case Verdict::not_assessable:
      return "not-assessable";
  }
  fault("a verdict is one of those there are");
}

inline const char* side_word(Side side) {
  switch (side) {
    case Side::short_of:
      return "short";
    case Side::at:
      return "at";
    case Side::beyond:
      return "beyond";
  }
  fault("a side is one of those there are");
}

}  // namespace canalrule::audit
