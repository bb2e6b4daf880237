#pragma once

#include <string>
#include <vector>

/// Small charts as SVG documents of their own, and a picture made small enough to be kept.
namespace canalrule_benchmark {

struct Series {
  std::string name;
  std::vector<double> values;  ///< one per label; not a number: none
};
/// Points joined by lines over labelled places, from nought up.
std::string line_chart(const std::string& title, const std::string& along, const std::vector<std::string>& labels,
                       const std::vector<Series>& series);

/// Shares of the values in even bins between -limit and limit; what lies beyond is in the outermost. With
/// `normal`, the standard normal density is drawn over it.
enum class Over { nothing, normal };
std::string histogram(const std::string& title, const std::string& along, const std::vector<double>& values,
                      double limit, Over over);

/// A PNG file scaled down until it takes at most `most_bytes`.
std::vector<unsigned char> shrunk_png(const std::vector<unsigned char>& png, std::size_t most_bytes);

}  // namespace canalrule_benchmark
