#pragma once

#include <canalrule/record/result.hpp>

#include <canalrule/report/scene.hpp>

namespace canalrule::report {

/// One canal's figures, verdicts and warnings in words, as many as the box holds; says so where the
/// rest is left to the text report.
Layer summary(const CanalResult& canal, const Result& result, const Box& box, std::size_t index);

}  // namespace canalrule::report
