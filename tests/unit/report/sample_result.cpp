#include "sample_result.hpp"

#include <algorithm>
#include <cmath>

namespace sample {

using namespace canalrule;

namespace {

/// The canal's axis: apex below, crown above, bent to the right over its apical half.
Point axis(double x, double at_mm) {
  const double bend = std::max(0.0, 8.0 - at_mm) * 0.12;
  return {x + (bend * bend + 0.2) / mm_per_pixel, 640.0 - at_mm / mm_per_pixel};
}

double width_at(double at_mm) { return 0.25 + 0.06 * (at_mm - 1.23); }

}  // namespace

CanalResult plain_canal(const std::string& name, double x) {
  CanalResult canal;
  canal.name = name;
  canal.terminus = Terminus{axis(x, 1.23),
                            1.23,
                            0.061,
                            Side::short_of,
                            {{"scale", 0.01}, {"apex mark", 0.05}, {"outline", 0.03}, {"path", 0.005}}};
  canal.coronal_level_mm = Quantity{12.83, 0.11};
  canal.filled_length_mm = Quantity{11.62, 0.12};
  canal.empty_canal = EmptyCanal{};
  canal.voids = std::vector<Void>{};
  for (double at = 1.6; at < 12.6; at += 0.25) canal.width.push_back({at, width_at(at), 0.011});
  canal.taper.overall = Quantity{0.0612, 0.0014};
  canal.taper.apical = Quantity{0.0634, 0.0052};
  canal.taper.middle = Quantity{0.0597, 0.0048};
  canal.taper.coronal = Quantity{0.0606, 0.0049};
  canal.taper.largest_reversal = Reversal{{0.013, 0.009}, 7.1, 7.6};
  canal.curvature_deg = Quantity{17.4, 1.6};
  canal.film = {8.43, 0.052, 3.37};
  for (double at = 15.5; at > -0.4; at -= 1.5) {
    const Point p = axis(x, at);
    canal.drawn_path.push_back({p.x + 4.0 * std::sin(3.0 * at), p.y});
  }
  for (double at = -0.8; at < 15.5; at += 0.1) {
    CentreAt centre{at, axis(x, at), std::nullopt};
    if (at > 1.3 && at < 12.8) centre.half_width_px = width_at(at) / 2.0 / mm_per_pixel;
    canal.centre_line.push_back(centre);
  }
  return canal;
}

CanalResult troubled_canal(const std::string& name, double x) {
  CanalResult canal = plain_canal(name, x);
  canal.terminus = Terminus{axis(x, -0.42), -0.42, 0.064, Side::beyond, {}};
  canal.material_beyond_apex = {{"fill", -0.42, 0.0, {0.42, 0.06}, {0.108, 0.02}, axis(x, -0.2)},
                                {"apart", -1.34, -0.95, {0.39, 0.08}, {0.117, 0.03}, axis(x, -1.15)}};
  const auto beside = [x](double at, double px) {
    const Point p = axis(x, at);
    return Point{p.x + px, p.y};
  };
  canal.voids = std::vector<Void>{{2.41,
                                   2.97,
                                   {0.56, 0.04},
                                   {0.21, 0.03},
                                   {0.34, 0.04},
                                   7.23,
                                   VoidKind::inside,
                                   Third::apical,
                                   beside(2.7, 1.0),
                                   false},
                                  {5.12,
                                   5.63,
                                   {0.51, 0.03},
                                   {0.48, 0.02},
                                   {0.97, 0.05},
                                   21.4,
                                   VoidKind::across,
                                   Third::middle,
                                   beside(5.4, 0.0),
                                   true},
                                  {8.18,
                                   9.29,
                                   {1.11, 0.07},
                                   {0.14, 0.04},
                                   {0.22, 0.03},
                                   6.17,
                                   VoidKind::along_wall,
                                   Third::coronal,
                                   beside(8.7, -9.0),
                                   false}};
  for (double at = 1.35; at > -0.3; at -= 0.25)
    canal.width.insert(canal.width.begin(), {at, 0.24 + 0.02 * at, 0.014});
  canal.taper.coronal = std::nullopt;
  canal.taper.breaks = {{4.03, "step", {-0.083, 0.021}, 4.71}, {7.26, "kink", {0.031, 0.008}, 5.92}};
  canal.against_plan.mean_width_difference_mm = Quantity{-0.037, 0.012};
  canal.against_plan.terminus_to_working_length_mm = Quantity{-0.58, 0.17};
  canal.against_plan.fill_length_from_reference_mm = Quantity{20.58, 0.16};
  canal.against_plan.gap_at_backfill = true;
  for (double at = 0.0; at < 10.6; at += 0.5) {
    canal.against_plan.width.push_back({at, 0.30 + 0.06 * at, width_at(at) - 0.30 - 0.06 * at, 0.011});
  }
  canal.not_assessable = {{"taper.coronal", std::nullopt, std::nullopt, "overlap",
                           "Another fill lies over most of the coronal third."},
                          {"voids", 10.6, 12.4, "overlap",
                           "Another fill lies over this one, so a void can't be told from its edge."}};
  canal.warnings = {
      {"overlap", "Another fill overlaps this canal; what lies under it was left out."},
      {"low-contrast", "The fill stands out from the dentine only 3.1 times as much as its texture."}};
  return canal;
}

CanalResult empty_canal(const std::string& name, double x) {
  const CanalResult marked = plain_canal(name, x);
  CanalResult canal;
  canal.name = name;
  canal.drawn_path = marked.drawn_path;
  for (CentreAt centre : marked.centre_line) {
    centre.half_width_px = std::nullopt;
    canal.centre_line.push_back(centre);
  }
  for (const char* figure : {"terminus", "coronal_level_mm", "filled_length_mm", "voids", "width",
                             "taper.overall", "taper.apical", "taper.middle", "taper.coronal"}) {
    canal.not_assessable.push_back(
        {figure, std::nullopt, std::nullopt, "no-fill", "No fill was found along the path."});
  }
  return canal;
}

Result result_of(std::vector<CanalResult> canals) {
  Result result;
  result.scale.mm_per_pixel = mm_per_pixel;
  result.scale.standard_uncertainty = 0.000085;
  result.scale.source = "known-length";
  result.scale.contributions = {{"known-length", "a known length of 21 mm", {mm_per_pixel, 0.000085}}};
  result.canals = std::move(canals);
  result.film.columns = 900;
  result.film.rows = 800;
  result.film.format = "PNG, 16 bit grey";
  result.film.bits_stored = 12;
  result.film.response = "log";
  result.film.response_source = "reading";
  result.film.radiopaque = "bright";
  result.film.noise_grey = 23.7;
  result.film.clipped_share = 0.0042;
  result.film.blur_mm = 0.051;
  result.film.halo_share = 0.034;
  result.provenance = {"canalrule 0.1.0",
                       "4.6.0",
                       "lower-left.png",
                       std::string(64, 'a'),
                       "lower-left.reading.json",
                       std::string(64, 'b'),
                       "A1",
                       "36"};
  result.cautions = {"A projection, not a volume: a void can hide behind the fill.",
                     "The radiographic apex is not the foramen.", "Not a diagnosis and no prognosis.",
                     "Local codes and a licensed clinician decide.",
                     "No exposure is justified by a measurement."};
  return result;
}

void judge_by_hand(Result& result) {
  Judged judged{"invented for tests", "3", "no published source", {}};
  for (const CanalResult& canal : result.canals) {
    const bool found = canal.terminus.has_value();
    judged.judgements.push_back(
        {canal.name, "length", "fill ends 0 to 2 mm short of the radiographic apex", "0 to 2 mm",
         !found                             ? Verdict::not_assessable
         : canal.terminus->to_apex_mm > 0.0 ? Verdict::within
                                            : Verdict::outside,
         found ? std::optional<double>(canal.terminus->to_apex_mm > 0.0 ? 0.99962 : 0.00002) : std::nullopt,
         found
             ? std::optional<Quantity>({canal.terminus->to_apex_mm, canal.terminus->standard_uncertainty_mm})
             : std::nullopt,
         "mm", found ? "" : "no terminus"});
    judged.judgements.push_back({canal.name, "density", "no void of 0.3 mm or more", "none of score ≥ 5, ≥ 0.3 mm",
                                 Verdict::too_close_to_call, 0.624, Quantity{0.29, 0.04}, "mm", ""});
    judged.judgements.push_back({canal.name, "taper", "taper from 0.03 to 0.12 mm per mm", "0.03 to 0.12 mm per mm",
                                 Verdict::within, 0.987, Quantity{0.0612, 0.0014}, "mm per mm", ""});
  }
  result.judged = judged;
}

Film film_of(const Result& result, int columns, int rows) {
  Film film;
  film.grey = cv::Mat(rows, columns, CV_32FC1);
  unsigned int state = 12345;  // linear congruence of Numerical Recipes (Press et al. 2007), from memory
  for (int row = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      state = state * 1664525U + 1013904223U;
      const double noise = (static_cast<double>(state >> 16U) / 65535.0 - 0.5) * 90.0;
      const double bone =
          120.0 * std::sin(column * 0.11) * std::cos(row * 0.09) + 500.0 * std::cos(column * 0.006);
      film.grey.at<float>(row, column) = static_cast<float>(std::round(1500.0 + bone + noise));
    }
  }
  for (const CanalResult& canal : result.canals) {
    for (const CentreAt& centre : canal.centre_line) {
      if (!centre.half_width_px) continue;
      const double radius = *centre.half_width_px;
      for (int row = std::max(0, static_cast<int>(centre.position.y) - 2);
           row < std::min(rows, static_cast<int>(centre.position.y) + 2); ++row) {
        for (int column = std::max(0, static_cast<int>(centre.position.x - radius));
             column < std::min(columns, static_cast<int>(centre.position.x + radius) + 1); ++column) {
          const double n = (column + 0.5 - centre.position.x) / radius;
          float& grey = film.grey.at<float>(row, column);
          if (std::abs(n) < 1.0)
            grey = std::max(grey, static_cast<float>(1900.0 + 1500.0 * std::sqrt(1.0 - n * n)));
        }
      }
    }
  }
  film.lowest_grey = 0.0;
  film.highest_grey = 4095.0;
  film.bits_stored = 12;
  film.radiopaque = Radiopaque::bright;
  film.format = "PNG, 16 bit grey";
  return film;
}

}  // namespace sample
