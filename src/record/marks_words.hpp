#pragma once

#include <canalrule/record/marks.hpp>

#include "fields.hpp"

/// The words of marks, said once for JSON and CSV.
namespace canalrule {

inline constexpr Words<Sureness, 3> sureness_words{{{Sureness::sure, "sure"},
                                                    {Sureness::too_close_to_call, "too-close-to-call"},
                                                    {Sureness::not_assessable, "not-assessable"}}};
inline constexpr Words<Standing, 4> standing_words{{{Standing::passed, "passed"},
                                                    {Standing::failed, "failed"},
                                                    {Standing::failed_automatically, "failed-automatically"},
                                                    {Standing::not_marked, "not-marked"}}};

}  // namespace canalrule
