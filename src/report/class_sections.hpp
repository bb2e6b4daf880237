#pragma once

#include <canalrule/grade/class_summary.hpp>
#include <canalrule/report/document.hpp>
#include <optional>

/// The parts of the class page that show numbers over the class; empty where the list has nothing for them.
namespace canalrule::report {

std::optional<Section> criteria_section(const ClassSummary& summary, const Rubric& rubric);
std::optional<Section> faults_section(const ClassSummary& summary);
std::optional<Section> progress_section(const ClassSummary& summary);
std::optional<Section> self_section(const ClassSummary& summary, const Rubric& rubric);
std::optional<Section> moderation_section(const ClassSummary& summary, const Rubric& rubric);
std::optional<Section> regrade_section(const ClassSummary& summary, const ClassMarks& marks);

}  // namespace canalrule::report
