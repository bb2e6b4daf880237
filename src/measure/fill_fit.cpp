#include "fill_fit.hpp"

#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <cmath>

#include "normal_equations.hpp"

namespace canalrule {

namespace {

/// Least noise as a share of the fill's height: what the model itself can't follow (interpolation, the
/// blur's true shape) must not be taken for outliers. Chosen here; tests/truth/width.cpp, clean films.
constexpr double least_noise = 0.005;

/// Side of the patches whose means tell how far noise is correlated, mm: the scale of an end or a knot.
/// Chosen here; tests/truth/terminus.cpp and width.cpp.
constexpr double patch_mm = 0.3;

/// Bisquare weights (Beaton and Tukey, Technometrics 1974;16:147): 0 beyond `reach`.
void weigh(Problem& problem, const cv::Mat& part, const cv::Mat& residual, double reach) {
  for (int i = problem.first; i < problem.last; ++i) {
    const double* r = residual.ptr<double>(i);
    const double* in = part.ptr<double>(i);
    double* w = problem.weight.ptr<double>(i);
    for (int j = 0; j < residual.cols; ++j) {
      const double u = r[j] / reach;
      w[j] = in[j] > 0.0 && std::fabs(u) < 1.0 ? (1.0 - u * u) * (1.0 - u * u) : 0.0;
    }
  }
}

/// The cost that those weights minimise: the sum of squared residuals where they are small.
double bisquare_cost(const Problem& problem, const cv::Mat& part, const cv::Mat& residual, double reach) {
  double sum = 0.0;
  for (int i = problem.first; i < problem.last; ++i) {
    const double* r = residual.ptr<double>(i);
    const double* in = part.ptr<double>(i);
    for (int j = 0; j < residual.cols; ++j) {
      if (in[j] <= 0.0) continue;
      const double u = std::min(1.0, r[j] * r[j] / (reach * reach));
      sum += reach * reach * (1.0 - (1.0 - u) * (1.0 - u) * (1.0 - u)) / 3.0;
    }
  }
  return sum;
}

double robust_noise(const Problem& problem, const cv::Mat& residual) {
  std::vector<double> seen;
  for (int i = problem.first; i < problem.last; i += 2) {
    const double* w = problem.weight.ptr<double>(i);
    const double* r = residual.ptr<double>(i);
    for (int j = 0; j < residual.cols; ++j)
      if (w[j] > 0.0) seen.push_back(std::fabs(r[j]));
  }
  if (seen.size() < 50) return 0.0;
  const auto middle = seen.begin() + static_cast<std::ptrdiff_t>(seen.size() / 2);
  std::nth_element(seen.begin(), middle, seen.end());
  return 1.4826 * *middle;
}

/// Sum of the residual's autocorrelation over lags up to about a blur's reach: by how much the variance
/// of a mean over a patch exceeds that of independent pixels.
double correlation_of(const Problem& problem, const cv::Mat& residual, double noise) {
  if (noise <= 0.0) return 1.0;
  const int patch = std::max(
      2, static_cast<int>(std::lround(patch_mm / (problem.settings.mm_per_px * problem.strip.grid.step_px))));
  double sum = 0.0;
  int count = 0;
  for (int i = problem.first; i + patch <= problem.last; i += patch) {
    for (int j = 0; j + patch <= residual.cols; j += patch) {
      double total = 0.0;
      double used = 0.0;
      for (int a = 0; a < patch; ++a) {
        const double* r = residual.ptr<double>(i + a) + j;
        const double* w = problem.weight.ptr<double>(i + a) + j;
        for (int b = 0; b < patch; ++b) {
          if (w[b] <= 0.0) continue;
          total += std::clamp(r[b], -4.0 * noise, 4.0 * noise);
          used += 1.0;
        }
      }
      if (used < 0.8 * patch * patch) continue;
      sum += total * total / used;
      ++count;
    }
  }
  if (count < 10) return 1.0;
  return std::max(1.0, sum / count / (noise * noise));
}

}  // namespace

FillFit fit_fill(const Strip& strip, const cv::Mat& mask, const FillModel& start, double coronal_px,
                 const FitSettings& settings, const Stretches& voids) {
  const StripGrid& grid = strip.grid;
  const double mm = settings.mm_per_px;
  FillFit fit;
  fit.model = start;
  Problem problem{strip, settings, cv::Mat(), {}, {}, 0, 0, 1.0};
  problem.flank_scale = settings.flank_mm / mm;
  problem.first =
      std::clamp(static_cast<int>(grid.row_of(start.end_px - settings.beyond_mm / mm)), 0, grid.rows);
  problem.last = std::clamp(static_cast<int>(grid.row_of(coronal_px)) + 1, problem.first, grid.rows);
  problem.background = LocalBasis::over(grid.s_px(problem.first), grid.s_px(problem.last - 1), 1.2 / mm);
  problem.places = lay_out(start, problem.background);

  // Pixels that take part: within the flanks of the fill as first guessed.
  cv::Mat part(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  for (int i = problem.first; i < problem.last; ++i) {
    const double s = grid.s_px(i);
    const double reach = start.radius_px(std::max(s, start.end_px)) + settings.flank_mm / mm;
    const double c = start.centre_px(s);
    for (int j = 0; j < grid.columns; ++j) {
      const bool in = std::fabs(grid.n_px(j) - c) <= reach && mask.at<std::uint8_t>(i, j) != 0 &&
                      strip.usable.at<std::uint8_t>(i, j) != 0;
      part.at<double>(i, j) = in ? 1.0 : 0.0;
    }
  }
  fit.part = part.clone();
  for (const auto& [from, to] : voids) {
    for (int i = problem.first; i < problem.last; ++i) {
      const double s = grid.s_px(i);
      if (s < from || s > to) continue;
      const double reach = start.radius_px(s) + 2.0 * start.blur_px;
      for (int j = 0; j < grid.columns; ++j)
        if (std::fabs(grid.n_px(j) - start.centre_px(s)) <= reach) part.at<double>(i, j) = 0.0;
    }
  }
  problem.weight = part.clone();

  std::vector<double> square_c(static_cast<std::size_t>(problem.background.count), 0.0);
  std::vector<double> cube_c = square_c;
  const double first_end = start.end_px;
  const double first_blur = start.blur_px;
  const double typical_radius = start.radius_px(0.5 * (start.end_px + coronal_px));
  const double height = start.contrast * 2.0 * typical_radius;
  double damping = 1e-3;
  double noise = 0.0;
  double correlation = 1.0;
  cv::Mat step;
  Normal normal;

  const auto apply_priors = [&](Normal& n, const FillModel& m, double noise2) {
    add_smoothness(n, problem.places.radius, m.radius, settings.kink_mm / mm, noise2);
    add_smoothness(n, problem.places.centre, m.centre, settings.centre_kink_mm / mm, noise2);
    add_smoothness(n, problem.places.square, square_c, 0.3 * height, noise2);
    add_smoothness(n, problem.places.cube, cube_c, 0.3 * height, noise2);
    for (std::size_t k = 0; k < square_c.size(); ++k) {
      add_prior(n, problem.places.square + static_cast<int>(k), square_c[k], 0.0, height, noise2);
      add_prior(n, problem.places.cube + static_cast<int>(k), cube_c[k], 0.0, height, noise2);
    }
    add_prior(n, problem.places.contrast, m.contrast, start.contrast, 2.0 * start.contrast, noise2);
    add_prior(n, problem.places.slope, m.contrast_slope, 0.0, 0.05, noise2);
    add_prior(n, problem.places.bend, m.bend, 0.0, settings.bend_per_mm * mm, noise2);
    add_prior(n, problem.places.blur, m.blur_px, first_blur, 0.5 * first_blur, noise2);
    add_prior(n, problem.places.end, m.end_px, first_end, 0.6 / mm, noise2);
    const double tip = std::max(1.0, m.radius_px(m.end_px));
    add_prior(n, problem.places.cap, m.cap_px, 0.7 * tip, 0.5 * tip, noise2);
    add_prior(n, problem.places.empty, m.empty, empty_share * m.contrast,
              empty_share_deviation * m.contrast, noise2);
    add_prior(n, problem.places.halo, m.halo, 0.0, start.sharpened ? 1.0 : 1e-6, noise2);
    for (std::size_t k = 0; k < m.radius.size(); ++k)
      add_prior(n, problem.places.radius + static_cast<int>(k), m.radius[k], start.radius[k], 1.0 / mm,
                noise2);
    for (std::size_t k = 0; k < m.centre.size(); ++k)
      add_prior(n, problem.places.centre + static_cast<int>(k), m.centre[k], start.centre[k], 0.5 / mm,
                noise2);
  };

  const auto penalty_of = [&](const FillModel& m, double noise2) {
    Normal scratch{cv::Mat(problem.places.count, problem.places.count, CV_64FC1, cv::Scalar(0)),
                   cv::Mat(problem.places.count, 1, CV_64FC1, cv::Scalar(0)), 0.0};
    apply_priors(scratch, m, noise2);
    return scratch.penalty;
  };

  // Levenberg-Marquardt on the bisquare cost: a step that doesn't lower it is taken back and shortened.
  struct State {
    FillModel model;
    std::vector<double> square, cube;
  };
  State accepted{fit.model, square_c, cube_c};
  ModelMaps accepted_maps;
  bool settled = false;
  double accepted_cost = 0.0;
  double width = 9.0;
  for (int round = 0; round < settings.rounds; ++round) {
    fit.maps = draw_model(fit.model, grid);
    if (round > 0) {
      fit.residual = residual_of(problem, fit.maps.value, square_c, cube_c);
      const double cost = bisquare_cost(problem, part, fit.residual, width * noise) +
                          penalty_of(fit.model, noise * noise * correlation);
      settled = cost <= accepted_cost && cost > accepted_cost * (1.0 - settings.settled);
      if (cost > accepted_cost * (1.0 + 1e-9)) {
        fit.model = accepted.model;
        square_c = accepted.square;
        cube_c = accepted.cube;
        damping = std::min(1e3, damping * 8.0);
        if (damping >= 1e3) {
          fit.converged = true;
          break;
        }
        fit.maps = accepted_maps;
      } else {
        damping = std::max(1e-5, damping * 0.2);
      }
    }
    fit.residual = residual_of(problem, fit.maps.value, square_c, cube_c);
    accepted = {fit.model, square_c, cube_c};
    accepted_maps = fit.maps;
    noise = std::max(robust_noise(problem, fit.residual), least_noise * height);
    width = round < 3 ? 9.0 : 5.0;
    weigh(problem, part, fit.residual, width * noise);
    fit.residual = residual_of(problem, fit.maps.value, square_c, cube_c);
    correlation = correlation_of(problem, fit.residual, noise);
    accepted_cost = bisquare_cost(problem, part, fit.residual, width * noise) +
                    penalty_of(fit.model, noise * noise * correlation);
    const double noise2 = noise * noise * correlation;
    normal = {cv::Mat(problem.places.count, problem.places.count, CV_64FC1, cv::Scalar(0)),
              cv::Mat(problem.places.count, 1, CV_64FC1, cv::Scalar(0)), 0.0};
    for (int i = problem.first; i < problem.last; ++i)
      accumulate_row(problem, fit.maps, fit.residual, i, fit.model, normal);
    apply_priors(normal, fit.model, noise2);

    cv::Mat damped = normal.matrix.clone();
    for (int k = 0; k < damped.rows; ++k) damped.at<double>(k, k) *= 1.0 + damping;
    if (!cv::solve(damped, normal.right, step, cv::DECOMP_CHOLESKY)) break;

    FillModel& m = fit.model;
    const ParameterPlaces& p = problem.places;
    const auto get = [&](int at) { return step.at<double>(at); };
    double longest = 0.0;
    for (std::size_t k = 0; k < m.radius.size(); ++k) {
      longest = std::max(longest, std::fabs(get(p.radius + static_cast<int>(k))));
      m.radius[k] = std::max(0.5, m.radius[k] + get(p.radius + static_cast<int>(k)));
    }
    for (std::size_t k = 0; k < m.centre.size(); ++k) m.centre[k] += get(p.centre + static_cast<int>(k));
    for (std::size_t k = 0; k < square_c.size(); ++k) {
      square_c[k] += get(p.square + static_cast<int>(k));
      cube_c[k] += get(p.cube + static_cast<int>(k));
    }
    m.contrast *= std::clamp(1.0 + get(p.contrast) / m.contrast, 0.6, 1.6);
    m.contrast_slope = std::clamp(m.contrast_slope + get(p.slope), -0.5, 0.5);
    m.bend = std::clamp(m.bend + get(p.bend), -0.8 * mm, 3.0 * mm);
    m.blur_px = std::clamp(m.blur_px * std::clamp(1.0 + get(p.blur) / m.blur_px, 0.7, 1.4), 0.45,
                           std::max(1.0, 0.12 / mm));
    const double end_step = std::clamp(get(p.end), -3.0 * m.blur_px, 3.0 * m.blur_px);
    m.end_px = std::clamp(m.end_px + end_step, first_end - settings.end_reach_mm / mm,
                          first_end + settings.end_reach_mm / mm);
    m.cap_px = std::clamp(m.cap_px + std::clamp(get(p.cap), -2.0, 2.0), 0.0,
                          3.0 * std::max(1.0, m.radius_px(m.end_px)));
    m.empty = std::clamp(m.empty + get(p.empty), -0.5 * m.contrast, 0.3 * m.contrast);
    m.halo = std::clamp(m.halo + get(p.halo), -0.3, 3.0);
    if (round >= 3 && damping < 1e-2 && std::fabs(end_step) < 0.02 && (longest < 0.03 || settled)) {
      fit.converged = true;
      break;
    }
  }
  fit.maps = draw_model(fit.model, grid);
  fit.residual = residual_of(problem, fit.maps.value, square_c, cube_c);
  fit.noise = noise;
  fit.correlation = correlation;
  fit.weight = problem.weight;
  fit.places = problem.places;
  fit.background_basis = problem.background;
  fit.first_row = problem.first;
  fit.last_row = problem.last;
  cv::Mat inverse;
  ensure(!normal.matrix.empty(), "a fit takes at least one round");
  cv::invert(normal.matrix, inverse, cv::DECOMP_CHOLESKY);
  fit.covariance = inverse * (noise * noise * correlation);
  return fit;
}

}  // namespace canalrule
