#pragma once

#include <opencv2/core.hpp>
#include <vector>

/// The noise of a film's attenuation in a window of it, with its covariance known: what the limits of
/// measuring are reckoned with. Planes are CV_64FC1 of the window's size.
namespace canalrule_benchmark {

/// Covariance between two pixels p and q of the window:
///   sd(p) sd(q) g(p - q)  +  pattern_sd(p) pattern_sd(q) c(p - q)  +  sum over k of uneven_k(p) uneven_k(q)
/// with g a Gaussian's autocorrelation (white where correlation_px is 0) and c the autocovariance that
/// belongs to `pattern_power`.
struct NoiseKind {
  cv::Mat usable;             ///< CV_8UC1: pixels that take part
  cv::Mat sd;                 ///< of photons and electronics
  double correlation_px = 0.0;
  cv::Mat pattern_sd;         ///< of the bone's pattern; empty: none
  cv::Mat pattern_power;      ///< its power at each frequency of a grid of padded_size(), mean 1 for unit variance
  std::vector<cv::Mat> uneven;///< the fill's unevenness, one plane per independent part
};

/// The size of the grid on which a window's spectra are kept: room for what lies beyond its edges.
cv::Size padded_size(cv::Size window);

class ColouredNoise {
 public:
  explicit ColouredNoise(NoiseKind kind);
  /// The inverse covariance times a plane, by conjugate gradients (Hestenes and Stiefel 1952) until a turn adds
  /// less than a millionth to the information, plane' C^-1 plane.
  cv::Mat whitened(const cv::Mat& plane) const;

 private:
  cv::Mat times(const cv::Mat& plane) const;    ///< the covariance but the fill's unevenness
  cv::Mat solved(const cv::Mat& plane) const;   ///< its inverse
  cv::Mat filtered(const cv::Mat& plane, const cv::Mat& spectrum) const;
  cv::Mat preconditioned(const cv::Mat& plane) const;
  bool white() const { return pattern_spectrum_.empty() && noise_spectrum_.empty(); }

  NoiseKind kind_;
  cv::Mat variance_, noise_spectrum_, pattern_spectrum_, inverse_spectrum_;  ///< spectra packed as cv::dft does
  std::vector<cv::Mat> uneven_white_;
  cv::Mat uneven_inverse_;
};

}  // namespace canalrule_benchmark
