#include "together.hpp"

#include <algorithm>
#include <canalrule/base/side_by_side.hpp>
#include <cmath>

#include "chord.hpp"
#include "coronal.hpp"

namespace canalrule {

namespace {

// Lengths in mm, chosen here; tests/truth/together.cpp holds them.
constexpr double every_mm = 0.25;
constexpr double crowded_mm = 0.9;       ///< drawn paths nearer than this can have one fill over another
constexpr double crowded_least_mm = 1.0; ///< over so much of their length
/// Left out about another's drawn path, half the width: a usual cone's (taper 0.05) with room for hand and blur.
constexpr double band_mm = 0.25;
constexpr double band_per_mm = 0.025;
constexpr double alike = 0.1;  ///< deviation of the contrasts of fills of one tooth, as a share
constexpr double one_material = 0.05;  ///< largest of it, of fills that count as told apart
constexpr int sweeps = 4;             ///< fits of each fill in turn, on the drawn path and again on its own
constexpr double settled_mm = 0.006;  ///< of radius, that the last of them may still move

/// Where another canal's drawn path comes near this one's, as a band to be left out. Empty where it hardly does.
std::vector<Foreign> drawn_bands(const FilmOnBench& film, const CanalPath& own, const CanalPath& other) {
  const double mm = film.mm_per_px;
  std::vector<Foreign> bands;
  double length = 0.0;
  bool open = false;
  for (double s = other.first_px(); s <= other.last_px(); s += every_mm / mm) {
    const Point place = other.at(s);
    const bool close = std::fabs(own.project(place).n_px) * mm < crowded_mm;
    if (close && !open) bands.emplace_back();
    if (close) {
      bands.back().line.push_back(place);
      bands.back().half_width_px.push_back(band_mm / mm + band_per_mm * std::max(0.0, s));
      length += every_mm;
    }
    open = close;
  }
  return length >= crowded_least_mm ? bands : std::vector<Foreign>{};
}

/// Thickness, px, that another canal's fill adds to a strip, in what the strip's own fill shows of a px:
/// CV_64FC1 of its size.
cv::Mat thickness_on(const Followed& own, const Followed& other) {
  const StripGrid& grid = own.strip.grid;
  cv::Mat thickness(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  const FillModel& model = other.fit.model;
  // Its centre line as the strip sees it: by row the place across, the radius, and how much it slants.
  struct Seen {
    double row, n, radius, height;
  };
  std::vector<Seen> seen;
  for (double s = model.end_px; s <= other.coronal_px; s += 1.0) {
    const CanalPath::Projection at = own.path.project(other.path.at(s, model.centre_px(s)));
    const double x = model.cap_px > 0.0 ? std::min(1.0, (s - model.end_px) / model.cap_px) : 1.0;
    const double cap = std::sqrt(std::max(0.0, 1.0 - (1.0 - x) * (1.0 - x)));
    const double height = model.contrast * contrast_share(model, s);
    seen.push_back({grid.row_of(at.s_px), at.n_px, model.radius_px(s) * cap, height});
  }
  std::vector<double> spare(2 * static_cast<std::size_t>(grid.columns));
  const FillModel& mine = own.fit.model;
  for (std::size_t k = 0; k + 1 < seen.size(); ++k) {
    const Seen& a = seen[k];
    const Seen& b = seen[k + 1];
    const double along = b.row - a.row;
    if (along <= 0.0) continue;  // it runs back on itself, or across: left to the mask
    const double slant = (b.n - a.n) / (along * grid.step_px);
    const double upright = 1.0 / std::sqrt(1.0 + slant * slant);
    for (int i = std::max(0, static_cast<int>(std::ceil(a.row))); i < std::min<double>(grid.rows, b.row); ++i) {
      const double f = (i - a.row) / along;
      const double radius = std::max(least_radius_px, a.radius + f * (b.radius - a.radius));
      const double s = grid.s_px(i);
      const double own_height = mine.contrast * contrast_share(mine, s);
      add_chord(grid, radius / upright, 1.0, a.n + f * (b.n - a.n), upright * a.height / own_height,
                {thickness.ptr<double>(i), spare.data(), spare.data() + grid.columns});
    }
  }
  return thickness;
}

/// The strip less what other fills add to it.
Strip without_others(const Followed& followed) {
  Strip strip = followed.strip;
  const FillModel& model = followed.fit.model;
  const cv::Mat both = draw_values(model, strip.grid, followed.other).value;
  const cv::Mat own = draw_values(model, strip.grid).value;
  cv::Mat others;
  cv::subtract(both, own, others);
  others.convertTo(others, CV_32F);
  strip.value = cv::Mat();  // not into the shared pixels
  cv::subtract(followed.strip.value, others, strip.value);
  return strip;
}

/// The farthest that a fit moved the radius along the fill, px.
double moved_px(const FillModel& before, const FillModel& after, double coronal_px) {
  double farthest = 0.0;
  for (int k = 1; k <= 8; ++k) {
    const double s = after.end_px + (coronal_px - after.end_px) * k / 9.0;
    farthest = std::max(farthest, std::fabs(after.radius_px(s) - before.radius_px(s)));
  }
  return farthest;
}

double mean_contrast(const std::vector<Followed*>& fills) {
  double sum = 0.0;
  double count = 0.0;
  for (const Followed* fill : fills) {
    if (fill == nullptr) continue;
    sum += fill->fit.model.contrast;
    count += 1.0;
  }
  return count > 0.0 ? sum / count : 1.0;
}

/// Fills that lie over each other, fitted in turn, each with the others as they were last fitted.
void fit_in_turn(const FilmOnBench& film, std::vector<Followed*> fills,
                 const std::vector<std::vector<Foreign>>& objects, const FitSettings& first_settings) {
  const double mm = film.mm_per_px;
  FitSettings settings = first_settings;
  settings.gives = FitGives::left_over;
  for (int sweep = 0; sweep < sweeps; ++sweep) {
    // Where one lies over the other a narrow, dense fill shows as a wide, thin one does: they are held to be of
    // one material.
    const double common = mean_contrast(fills);
    if (sweep > 0) settings.contrast_deviation = alike;
    for (std::size_t i = 0; i < fills.size(); ++i) {
      if (fills[i] == nullptr) continue;
      Followed& own = *fills[i];
      own.mask = mask_foreign(own.strip, own.path, objects[i]);
      own.other = cv::Mat(own.strip.value.size(), CV_64FC1, cv::Scalar(0));
      for (std::size_t j = 0; j < fills.size(); ++j)
        if (j != i && fills[j] != nullptr) own.other += thickness_on(own, *fills[j]);
      const FillModel before = own.fit.model;
      FillModel start = before;
      if (sweep > 0) start.contrast = common;
      own.fit = fit_fill(own.strip, own.mask, start, own.coronal_px - coronal_margin_mm / mm, settings,
                         {}, own.other, own.fit.background);
      own.coronal_px = coronal_end(without_others(own), own.fit.model, own.coronal_px, mm);
      own.settled = moved_px(before, own.fit.model, own.coronal_px) * mm < settled_mm &&
                    std::fabs(std::log(own.fit.model.contrast / common)) < one_material;
    }
  }
}

}  // namespace

std::vector<FollowedOrNot> follow_all(const FilmOnBench& film, const Reading& reading,
                                      const std::vector<CanalPath>& paths,
                                      const std::vector<std::vector<Foreign>>& objects, std::size_t threads) {
  const std::size_t count = reading.canals.size();
  std::vector<FollowedOrNot> alone(count);
  std::vector<char> crowded(count);
  side_by_side(count, threads, [&](std::size_t i) {
    std::vector<Foreign> foreign = objects[i];
    for (std::size_t j = 0; j < count; ++j) {
      if (j == i) continue;
      const std::vector<Foreign> bands = drawn_bands(film, paths[i], paths[j]);
      foreign.insert(foreign.end(), bands.begin(), bands.end());
    }
    crowded[i] = foreign.size() > objects[i].size();
    alone[i] = crowded[i] ? begin_by_hand(film, reading.canals[i], foreign)
                          : refuse_what_is_no_fill(film, follow_fill(film, reading.canals[i], foreign));
  });
  const auto crowd = [&] {
    std::vector<Followed*> fills(count, nullptr);
    for (std::size_t i = 0; i < count; ++i)
      if (crowded[i] && alone[i].followed) fills[i] = &*alone[i].followed;
    return fills;
  };
  if (std::find(crowded.begin(), crowded.end(), char{true}) != crowded.end()) {
    // On the drawn paths first, then each on its own centre line.
    FitSettings by_hand = settings_for(film, stiff_kink_mm);
    by_hand.centre_kink_mm = 0.3;
    fit_in_turn(film, crowd(), objects, by_hand);
    for (std::size_t i = 0; i < count; ++i)
      if (crowded[i] && alone[i].followed) {
        const Followed& first = *alone[i].followed;
        alone[i].followed = on_own_line(film, reading.canals[i], first.path, first.fit.model, first.trace,
                                        first.coronal_px);
      }
    fit_in_turn(film, crowd(), objects, settings_for(film, stiff_kink_mm));
    // What one takes from another where they lie over each other is wrong in both.
    const std::vector<Followed*> fitted = crowd();
    const bool all_settled = std::all_of(fitted.begin(), fitted.end(), [](const Followed* fill) {
      return fill == nullptr || fill->settled;
    });
    for (Followed* fill : fitted)
      if (fill != nullptr) fill->settled = all_settled;
    for (std::size_t i = 0; i < count; ++i)
      if (crowded[i]) alone[i] = refuse_what_is_no_fill(film, std::move(alone[i]));
  }
  std::vector<FollowedOrNot> together = alone;
  side_by_side(count, threads, [&](std::size_t i) {
    if (crowded[i] || !alone[i].followed) return;
    std::vector<Foreign> others;
    for (std::size_t j = 0; j < count; ++j)
      if (j != i && alone[j].followed) others.push_back(as_foreign(film, *alone[j].followed));
    if (!near(film, *alone[i].followed, others)) return;
    others.insert(others.end(), objects[i].begin(), objects[i].end());
    together[i] = refuse_what_is_no_fill(film, follow_fill(film, reading.canals[i], others));
    if (!together[i].followed) together[i] = alone[i];
  });
  return together;
}

bool drawn_close(const FilmOnBench& film, const CanalPath& own, const CanalPath& other) {
  return !drawn_bands(film, own, other).empty();
}

}  // namespace canalrule
