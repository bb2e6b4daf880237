#include <canalrule/base/plain.hpp>
#include <canalrule/grade/class_summary.hpp>
#include <cmath>

namespace canalrule {

namespace {

const char* noun(std::size_t number, const char* one, const char* several) {
  return number == 1 ? one : several;
}

void close_to_a_boundary(const Mark& mark, const Rubric& rubric, std::vector<std::string>& reasons) {
  if (mark.standing_is_open)
    reasons.push_back("The uncertainty leaves open whether this is a pass: " + plain(mark.least_percent, 0) +
                      " to " + plain(mark.most_percent, 0) + " %, pass mark " +
                      plain(rubric.pass_mark_percent, 0) + " %.");
  for (std::size_t i = 0; i < mark.automatic_fails.size(); ++i)
    if (mark.automatic_fails[i].sureness == Sureness::too_close_to_call)
      reasons.push_back(
          "Too close to call, and an automatic fail if it holds: " + rubric.automatic_fails[i].text + ".");
}

void poor_film(const MarkedReading& reading, std::vector<std::string>& reasons) {
  if (!reading.mark.percent)
    reasons.push_back("Not marked: only " + plain(reading.mark.assessed_percent, 0) +
                      " % of the points could be assessed on this film.");
  std::size_t unseen = 0;
  for (const CriterionMark& criterion : reading.mark.criteria)
    for (const Award& award : criterion.awards) unseen += award.sureness == Sureness::not_assessable ? 1 : 0;
  if (unseen > 0 && reading.mark.percent)
    reasons.push_back(std::to_string(unseen) + noun(unseen, " figure", " figures") +
                      " of the rubric could not be assessed on this film.");
  for (const CanalResult& canal : reading.result.canals)
    if (canal.film.contrast_to_texture && *canal.film.contrast_to_texture < weak_contrast)
      reasons.push_back("Weak contrast at canal " + canal.name + ": the fill stands out by " +
                        plain(*canal.film.contrast_to_texture, 1) +
                        " standard deviations of its surroundings.");
}

void disagreement(const MarkedReading& teacher, const MarkedReading& other, const std::string& whose,
                  std::vector<std::string>& reasons) {
  if (teacher.mark.standing != other.mark.standing)
    reasons.push_back(whose + " would change pass or fail.");
  else if (teacher.mark.percent && other.mark.percent &&
           std::abs(*teacher.mark.percent - *other.mark.percent) >= large_disagreement_percent)
    reasons.push_back(whose + " gives " + plain(*other.mark.percent, 0) + " % instead of " +
                      plain(*teacher.mark.percent, 0) + " %.");
  for (const CanalResult& canal : teacher.result.canals)
    for (const CanalResult& same : other.result.canals) {
      if (canal.name != same.name || !canal.terminus || !same.terminus) continue;
      const double difference = std::abs(canal.terminus->to_apex_mm - same.terminus->to_apex_mm);
      const double combined =
          std::hypot(canal.terminus->standard_uncertainty_mm, same.terminus->standard_uncertainty_mm);
      if (difference >= large_disagreement_mm && difference > 2.0 * combined)
        reasons.push_back(whose + " places the end of canal " + canal.name + " elsewhere, by " +
                          plain(difference, 1) + " mm.");
    }
}

}  // namespace

std::vector<std::string> second_look(const ClassCase& one, const Rubric& rubric) {
  std::vector<std::string> reasons;
  if (!one.teacher) return reasons;
  close_to_a_boundary(one.teacher->mark, rubric, reasons);
  poor_film(*one.teacher, reasons);
  if (one.second) disagreement(*one.teacher, *one.second, "The second reading", reasons);
  if (one.student_own) disagreement(*one.teacher, *one.student_own, "The student's own reading", reasons);
  return reasons;
}

}  // namespace canalrule
