#pragma once

#include <optional>
#include <vector>

namespace canalrule {

/// Samples along a line, one px apart, s rising.
struct Profile {
  double first_s_px = 0.0;
  std::vector<double> value;
  double s_px(std::size_t k) const { return first_s_px + static_cast<double>(k); }
};

/// How a body's signal comes in behind its end: over `rounding_px` as an ellipsoid's section does, at once
/// for 0; `weight` is the share of belief in it beforehand.
struct Rounding {
  double rounding_px = 0.0;
  double weight = 1.0;
};

/// Where an edge may lie and how it may look.
struct EdgeSearch {
  double from_px = 0.0, to_px = 0.0;
  std::vector<Rounding> roundings;
  std::vector<double> blurs_px;  ///< Gaussian standard deviations
  double correlated_px = 10.0;   ///< longest lag of correlated errors
};

/// An edge: y = level + (height + slope (s - at)) behind it, level before it; behind is where s is higher.
struct Edge {
  double at_px = 0.0;
  double u_px = 0.0;    ///< its posterior's standard deviation
  double level = 0.0;   ///< before it
  double height = 0.0;  ///< behind it over `level`, at the edge
  double score = 0.0;   ///< how much better than a straight line without an edge, in standard deviations
};

/// By summation over a grid of places, roundings and blurs, the linear part by least squares, the noise's
/// correlation taken from the residual (Bayes' theorem with flat priors but `weight`; JCGM 101:2008, 6.4.11
/// in spirit). Nothing where the profile is too short.
std::optional<Edge> find_edge(const Profile& profile, const EdgeSearch& search);

}  // namespace canalrule
