#include "coloured_noise.hpp"

#include <cmath>
#include <canalrule/base/fault.hpp>
#include <numbers>

namespace canalrule_benchmark {

namespace {

/// A real, even power on the whole grid as the packed spectrum that cv::mulSpectrums takes.
cv::Mat packed(const cv::Mat& power) {
  cv::Mat complex, kernel, spectrum;
  const cv::Mat planes[] = {power, cv::Mat::zeros(power.size(), CV_64F)};
  cv::merge(planes, 2, complex);
  cv::dft(complex, kernel, cv::DFT_INVERSE | cv::DFT_REAL_OUTPUT | cv::DFT_SCALE);
  cv::dft(kernel, spectrum);
  return spectrum;
}

/// Power of white noise of unit variance after a Gaussian of standard deviation `sigma_px`, scaled back to
/// unit variance.
cv::Mat gaussian_power(cv::Size size, double sigma_px) {
  cv::Mat power(size, CV_64F);
  double sum = 0.0;
  for (int v = 0; v < size.height; ++v)
    for (int u = 0; u < size.width; ++u) {
      const double x = 2.0 * std::numbers::pi * std::min(u, size.width - u) / size.width;
      const double y = 2.0 * std::numbers::pi * std::min(v, size.height - v) / size.height;
      sum += power.at<double>(v, u) = std::exp(-sigma_px * sigma_px * (x * x + y * y));
    }
  power *= static_cast<double>(power.total()) / sum;
  return power;
}

double mean_square(const cv::Mat& plane, const cv::Mat& usable) {
  return cv::mean(plane.mul(plane), usable)[0];
}

}  // namespace

cv::Size padded_size(cv::Size window) {
  constexpr double room = 1.5;
  return {cv::getOptimalDFTSize(static_cast<int>(room * window.width)),
          cv::getOptimalDFTSize(static_cast<int>(room * window.height))};
}

ColouredNoise::ColouredNoise(NoiseKind kind) : kind_(std::move(kind)) {
  canalrule::ensure(kind_.sd.type() == CV_64F && kind_.usable.type() == CV_8U, "planes of doubles");
  kind_.sd.setTo(1.0, kind_.usable == 0);
  variance_ = kind_.sd.mul(kind_.sd);
  const cv::Size grid = padded_size(kind_.sd.size());
  cv::Mat power(grid, CV_64F, cv::Scalar(1.0));
  if (kind_.correlation_px > 0.0) {
    // Rounding to grey values keeps a little of every frequency, so that the covariance can be inverted.
    constexpr double white_share = 0.01;  // chosen here: about that of 8 bit at 20000 photons
    power = (1.0 - white_share) * gaussian_power(grid, kind_.correlation_px) + white_share;
    noise_spectrum_ = packed(power);
  }
  if (!kind_.pattern_power.empty()) {
    pattern_spectrum_ = packed(kind_.pattern_power);
    power += mean_square(kind_.pattern_sd / kind_.sd, kind_.usable) * kind_.pattern_power;
  }
  inverse_spectrum_ = packed(1.0 / power);
  const int parts = static_cast<int>(kind_.uneven.size());
  uneven_inverse_ = cv::Mat::eye(parts, parts, CV_64F);
  for (int i = 0; i < parts; ++i) {
    uneven_white_.push_back(solved(kind_.uneven[static_cast<std::size_t>(i)]));
    for (int j = 0; j < parts; ++j)
      uneven_inverse_.at<double>(i, j) += uneven_white_.back().dot(kind_.uneven[static_cast<std::size_t>(j)]);
  }
  if (parts > 0) uneven_inverse_ = uneven_inverse_.inv(cv::DECOMP_SVD);
}

cv::Mat ColouredNoise::filtered(const cv::Mat& plane, const cv::Mat& spectrum) const {
  cv::Mat grid = cv::Mat::zeros(spectrum.size(), CV_64F), transform;
  plane.copyTo(grid(cv::Rect({0, 0}, plane.size())));
  cv::dft(grid, transform, 0, plane.rows);
  cv::mulSpectrums(transform, spectrum, transform, 0);
  cv::dft(transform, grid, cv::DFT_INVERSE | cv::DFT_SCALE | cv::DFT_REAL_OUTPUT, plane.rows);
  cv::Mat out = grid(cv::Rect({0, 0}, plane.size())).clone();
  out.setTo(0.0, kind_.usable == 0);
  return out;
}

cv::Mat ColouredNoise::times(const cv::Mat& plane) const {
  cv::Mat out;
  if (noise_spectrum_.empty()) out = variance_.mul(plane);
  else out = kind_.sd.mul(filtered(kind_.sd.mul(plane), noise_spectrum_));
  if (!pattern_spectrum_.empty())
    out += kind_.pattern_sd.mul(filtered(kind_.pattern_sd.mul(plane), pattern_spectrum_));
  return out;
}

cv::Mat ColouredNoise::preconditioned(const cv::Mat& plane) const {
  if (white()) return plane / variance_;
  return filtered(plane / kind_.sd, inverse_spectrum_) / kind_.sd;
}

cv::Mat ColouredNoise::solved(const cv::Mat& plane) const {
  constexpr int most = 600, quiet_turns = 3;
  constexpr double little = 1e-6;  // the unevenness is taken off what is left: a rough solution would leave some of it
  cv::Mat residual = plane.clone();
  residual.setTo(0.0, kind_.usable == 0);
  cv::Mat solution = cv::Mat::zeros(plane.size(), CV_64F);
  if (cv::norm(residual) <= 0.0) return solution;
  cv::Mat toward = preconditioned(residual), direction = toward.clone();
  // Each turn adds step * fall to plane' C^-1 plane, the information that is sought.
  double fall = residual.dot(toward), information = 0.0;
  int quiet = 0;
  for (int turn = 0; turn < most && quiet < quiet_turns && fall > 0.0; ++turn) {
    const cv::Mat image = times(direction);
    const double step = fall / direction.dot(image);
    solution += step * direction;
    residual -= step * image;
    information += step * fall;
    quiet = step * fall < little * information ? quiet + 1 : 0;
    toward = preconditioned(residual);
    const double next = residual.dot(toward);
    direction = toward + next / fall * direction;
    fall = next;
  }
  return solution;
}

cv::Mat ColouredNoise::whitened(const cv::Mat& plane) const {
  cv::Mat out = solved(plane);
  if (uneven_white_.empty()) return out;
  // (A + U U')^-1 = A^-1 - A^-1 U (1 + U' A^-1 U)^-1 U' A^-1 (Woodbury 1950).
  cv::Mat shares(static_cast<int>(uneven_white_.size()), 1, CV_64F);
  for (int i = 0; i < shares.rows; ++i)
    shares.at<double>(i) = uneven_white_[static_cast<std::size_t>(i)].dot(plane);
  shares = uneven_inverse_ * shares;
  for (int i = 0; i < shares.rows; ++i) out -= shares.at<double>(i) * uneven_white_[static_cast<std::size_t>(i)];
  return out;
}

}  // namespace canalrule_benchmark
