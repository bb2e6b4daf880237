#pragma once

#include <canalrule/grade/grade.hpp>
#include <canalrule/record/marks.hpp>
#include <canalrule/record/result.hpp>
#include <canalrule/record/rubric.hpp>
#include <string>

namespace canalrule_test {

using namespace canalrule;

inline CanalResult canal_ending(double to_apex_mm, double standard_uncertainty_mm,
                                const std::string& name = "1") {
  CanalResult canal;
  canal.name = name;
  canal.terminus = Terminus{{100, 900}, to_apex_mm, standard_uncertainty_mm, Side::short_of, {}};
  canal.coronal_level_mm = Quantity{12.0, 0.1};
  canal.filled_length_mm = Quantity{12.0 - to_apex_mm, 0.1};
  canal.voids = std::vector<Void>{};
  canal.width = {{2.0, 0.41, 0.02}, {3.0, 0.47, 0.02}};
  canal.film = {10.0, 0.04, 5.0};
  return canal;
}

inline Void void_of(double from_mm, Quantity length_mm, double score, VoidKind kind = VoidKind::inside,
                    Third third = Third::middle) {
  Void found;
  found.from_mm = from_mm;
  found.to_mm = from_mm + length_mm.value;
  found.length_mm = length_mm;
  found.deficit = {0.5, 0.05};
  found.score = score;
  found.kind = kind;
  found.third = third;
  return found;
}

inline Result result_of(CanalResult canal) {
  Result result;
  result.canals.push_back(std::move(canal));
  return result;
}

inline Rubric shipped_rubric(const std::string& name) {
  return load_rubric(std::string(CANALRULE_SOURCE_DIR) + "/docs/rubrics/" + name + ".json");
}

inline Feedback shipped_feedback() {
  return load_feedback(std::string(CANALRULE_SOURCE_DIR) + "/docs/feedback/questions.json");
}

/// A rubric of one criterion on the terminus: 0 beyond the apex, 2 up to 2 mm short, 1 to 3 mm, then 0.
inline Rubric length_rubric(CloseCall rule = CloseCall::benefit_of_the_doubt) {
  Rubric rubric;
  rubric.name = "length";
  rubric.version = "1";
  rubric.source = "invented";
  rubric.pass_mark_percent = 50.0;
  rubric.too_close_to_call = rule;
  RubricCriterion length;
  length.id = "length";
  length.text = "Length";
  length.points = 2.0;
  length.bands = {{std::nullopt, Limit{0.0, false}, 0.0, "beyond"},
                  {Limit{0.0, true}, Limit{2.0, true}, 2.0, "good"},
                  {Limit{2.0, false}, Limit{3.0, true}, 1.0, "a little short"},
                  {Limit{3.0, false}, std::nullopt, 0.0, "short"}};
  rubric.criteria.push_back(length);
  return rubric;
}

}  // namespace canalrule_test
