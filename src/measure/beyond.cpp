#include "beyond.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>

#include "robust.hpp"

namespace canalrule {

namespace {

// Chosen here; tests/truth/around_the_end.cpp holds them.
constexpr double search_mm = 2.5;            ///< beyond the apex
constexpr double aside_mm = 1.3;             ///< to each side of the path
constexpr double least_thickness_mm = 0.25;  ///< of fill, that material apart must attenuate like
constexpr double noise_factor = 4.0;         ///< and over the surroundings' texture
constexpr double least_area_mm2 = 0.03;
/// Half of a round body's chord is reached at sqrt(3) / 2 of its radius.
const double half_chord = std::sqrt(0.75);
constexpr double most_growth = 4.0;  ///< of a piece's area, from where it is sure to half of its height
constexpr double width_known_to = 0.05;  ///< of the fill's own body beyond the apex: bone lets it seem wider
constexpr double clear_of_tip_blurs = 2.5;
constexpr double least_empty_mm = 0.4;  ///< unfilled canal shorter than this isn't judged
constexpr double least_empty_score = 4.0;
/// Share of the fill's contrast that shows more than dentine in a canal where the fill may go on, and where no more
/// than a millimetre of it is left, in which bone's strands and the root's own end show as much; likewise, and
/// tests/command/test_measure.py.
constexpr double least_going_on = 0.1, least_going_on_near = 0.25;
constexpr double near_apex_mm = 1.0;

/// Connected regions of a strip, as OpenCV numbers them: 0 is what lies between.
struct Pieces {
  int count = 0;
  cv::Mat label, stats, centre;

  /// Whether a piece runs out of the strip at a side.
  bool at_side(int k) const {
    const int left = stats.at<int>(k, cv::CC_STAT_LEFT);
    return left == 0 || left + stats.at<int>(k, cv::CC_STAT_WIDTH) == label.cols;
  }
};

/// What the canal between the fill's end and the apex shows against dentine, as a share of what as much fill would, and
/// its score: below nought where it is darker.
struct CanalContents {
  double share = 0.0, score = 0.0;
};

CanalContents contents_apical_of(const FillFit& fit) {
  // The fit's prior expects an empty canal; what the film itself says is weighed without it.
  const double variance = fit.covariance.at<double>(fit.places.empty, fit.places.empty);
  const double prior = 1.0 / (empty_share_deviation * empty_share_deviation);
  const double of_film = 1.0 / std::max(1e-30, variance) - prior;
  if (of_film <= 0.0) return {};
  const double share = (fit.model.empty / variance - empty_share * prior) / of_film;
  return {share, share * std::sqrt(of_film)};
}

}  // namespace

std::vector<MaterialBeyond> material_beyond_apex(const FilmOnBench& film, const ScaleResult& scale,
                                                 const Followed& followed, const FillFit& fit, double u_end_mm) {
  const double mm = film.mm_per_px;
  const double across = scale.mm_per_pixel_across ? scale.mm_per_pixel_across->value : mm;
  const double relative = scale.standard_uncertainty / mm;
  const FillModel& model = fit.model;
  std::vector<MaterialBeyond> found;
  const double end_mm = model.end_px * mm;
  if (end_mm < 0.0) {
    MaterialBeyond body;
    body.kind = "fill";
    body.from_mm = end_mm;
    body.to_mm = 0.0;
    body.length_mm = {-end_mm, u_end_mm};
    double area = 0.0;
    const double step = 0.5;
    for (double s = model.end_px + 0.5 * step; s < 0.0; s += step) {
      const double x = model.cap_px > 0.0 ? std::min(1.0, (s - model.end_px) / model.cap_px) : 1.0;
      area += 2.0 * model.radius_px(s) * std::sqrt(std::max(0.0, 1.0 - (1.0 - x) * (1.0 - x))) * step * mm *
              across;
    }
    const double width_mm = 2.0 * model.radius_px(0.5 * model.end_px) * across;
    body.area_mm2 = {area, std::hypot(u_end_mm * width_mm, width_known_to * area, 2.0 * area * relative)};
    body.position = followed.path.at(0.5 * model.end_px, model.centre_px(0.5 * model.end_px));
    found.push_back(body);
  }

  // What lies apart: a strip from the tip to beyond the apex, its surroundings' level and texture from the
  // strip itself.
  StripGrid grid;
  grid.step_px = followed.strip.grid.step_px;
  const double top = std::min(0.0, model.end_px) - clear_of_tip_blurs * model.blur_px;
  grid.first_s_px = top - search_mm / mm;
  grid.rows = static_cast<int>(search_mm / (mm * grid.step_px));
  const int half = static_cast<int>(aside_mm / (mm * grid.step_px));
  grid.columns = 2 * half + 1;
  grid.first_n_px = -half * grid.step_px;
  const Strip strip = sample_strip(film.radiopacity, film.unusable, followed.path, grid, film.origin);
  std::vector<double> values;
  for (int i = 0; i < grid.rows; ++i)
    for (int j = 0; j < grid.columns; j += 2)
      if (strip.usable.at<std::uint8_t>(i, j) != 0)
        values.push_back(static_cast<double>(strip.value.at<float>(i, j)));
  if (values.size() < 200) return found;
  const double level = median(values);
  const double texture = robust_deviation(values);
  const double threshold = std::max(noise_factor * texture, model.contrast * least_thickness_mm / mm);
  const auto pieces_over = [&](double height) {
    Pieces pieces;
    cv::Mat over(grid.rows, grid.columns, CV_8UC1, cv::Scalar(0));
    for (int i = 0; i < grid.rows; ++i)
      for (int j = 0; j < grid.columns; ++j)
        if (strip.usable.at<std::uint8_t>(i, j) != 0 &&
            static_cast<double>(strip.value.at<float>(i, j)) - level > height)
          over.at<std::uint8_t>(i, j) = 255;
    pieces.count =
        cv::connectedComponentsWithStats(over, pieces.label, pieces.stats, pieces.centre, 8, CV_32S);
    return pieces;
  };
  const Pieces sure = pieces_over(threshold);
  const double pixel_mm2 = grid.step_px * mm * grid.step_px * across;
  for (int k = 1; k < sure.count; ++k) {
    if (sure.stats.at<int>(k, cv::CC_STAT_AREA) * pixel_mm2 < least_area_mm2 || sure.at_side(k)) continue;
    // Its size where it falls to half of its own height; what runs into something else there keeps the
    // outline by which it was found.
    double peak = 0.0;
    cv::Point top_of_it;
    cv::minMaxLoc(strip.value, nullptr, &peak, nullptr, &top_of_it, sure.label == k);
    const Pieces half_high = pieces_over(0.5 * (peak - level));
    const int grown = half_high.label.at<int>(top_of_it);
    const bool alone = grown > 0 && !half_high.at_side(grown) &&
                       half_high.stats.at<int>(grown, cv::CC_STAT_AREA) <
                           most_growth * sure.stats.at<int>(k, cv::CC_STAT_AREA);
    const Pieces& outline = alone ? half_high : sure;
    const int which = alone ? grown : k;
    const double beyond_half = alone ? 1.0 / half_chord : 1.0;
    const int first = outline.stats.at<int>(which, cv::CC_STAT_TOP);
    const int rows = outline.stats.at<int>(which, cv::CC_STAT_HEIGHT);
    const double middle = grid.s_px(first + 0.5 * (rows - 1)) * mm;
    const double length = rows * grid.step_px * mm * beyond_half;
    MaterialBeyond apart;
    apart.kind = "apart";
    apart.from_mm = middle - 0.5 * length;
    apart.to_mm = std::min(0.0, middle + 0.5 * length);
    if (apart.to_mm <= apart.from_mm) continue;
    // An outline drawn at a height is off by up to a blur at each end.
    const double edge = model.blur_px * mm;
    const double area =
        outline.stats.at<int>(which, cv::CC_STAT_AREA) * pixel_mm2 * beyond_half * beyond_half;
    apart.length_mm = {apart.to_mm - apart.from_mm, std::sqrt(2.0) * edge};
    apart.area_mm2 = {area, edge * 2.0 * std::sqrt(std::numbers::pi * area)};
    apart.position = followed.path.at(grid.s_px(outline.centre.at<double>(which, 1)),
                                      grid.n_px(outline.centre.at<double>(which, 0)));
    found.push_back(apart);
  }
  return found;
}

std::optional<EmptyCanal> empty_canal_of(const FilmOnBench& film, const FillFit& fit) {
  const double end_mm = fit.model.end_px * film.mm_per_px;
  if (end_mm < least_empty_mm) return std::nullopt;
  EmptyCanal canal;
  canal.from_mm = 0.0;
  canal.to_mm = end_mm;
  canal.score = std::max(0.0, -contents_apical_of(fit).score);
  canal.visible = canal.score >= least_empty_score;
  return canal;
}

double goes_on_apically_mm(const Followed& followed, const FillFit& fit, double mm) {
  const double end_mm = fit.model.end_px * mm;
  if (end_mm < least_empty_mm) return 0.0;
  if (followed.ridge_goes_on) return end_mm;
  const CanalContents contents = contents_apical_of(fit);
  const double least = end_mm < near_apex_mm ? least_going_on_near : least_going_on;
  return contents.share > least && contents.score >= least_empty_score ? end_mm : 0.0;
}

double film_beyond_apex_mm(const FilmOnBench& film, const Followed& followed) {
  const double step = 1.0;
  double reached = 0.0;
  for (double away = 0.0; away < 20.0 / film.mm_per_px; away += step) {
    const Point p = followed.path.at(-away);
    const int column = static_cast<int>(std::floor(p.x));
    const int row = static_cast<int>(std::floor(p.y));
    if (column < 0 || row < 0 || column >= film.size.width || row >= film.size.height) break;
    if (!film.unusable.empty() && film.unusable.at<std::uint8_t>(row, column) != 0) break;
    reached = away;
  }
  return reached * film.mm_per_px;
}

}  // namespace canalrule
