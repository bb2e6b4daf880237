#pragma once

#include <canalrule/judge/judge.hpp>
#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule_test {

using namespace canalrule;

inline CanalResult canal_ending(double to_apex_mm, double standard_uncertainty_mm) {
  CanalResult canal;
  canal.name = "ML";
  canal.terminus = Terminus{{100, 900}, to_apex_mm, standard_uncertainty_mm, Side::short_of, {}};
  canal.coronal_level_mm = Quantity{12.0, 0.2};
  canal.filled_length_mm = Quantity{12.0 - to_apex_mm, 0.2};
  canal.voids = std::vector<Void>{};
  canal.width = {{2.0, 0.41, 0.02}, {3.0, 0.47, 0.02}};
  return canal;
}

inline Void void_of(double from_mm, Quantity length_mm, double score, Quantity deficit = {0.5, 0.05}) {
  Void found;
  found.from_mm = from_mm;
  found.to_mm = from_mm + length_mm.value;
  found.length_mm = length_mm;
  found.deficit = deficit;
  found.score = score;
  found.third = Third::middle;
  return found;
}

inline Criterion up_to(CriterionFigure figure, double most, VoidSelection voids = {}) {
  return {"id", "text", figure, std::nullopt, Limit{most, true}, voids};
}

inline Criterion between(CriterionFigure figure, double least, double most) {
  return {"id", "text", figure, Limit{least, true}, Limit{most, true}, {}};
}

inline Judgement judge_canal(const CanalResult& canal, const Criterion& criterion, double confidence = 0.95) {
  Result result;
  result.canals = {canal};
  return judge(result, {"name", "1", "source", "", confidence, {criterion}}).judgements.at(0);
}

}  // namespace canalrule_test
