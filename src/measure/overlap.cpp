#include "overlap.hpp"

#include <algorithm>
#include <cmath>

#include "robust.hpp"
#include "view.hpp"

namespace canalrule {

namespace {

// Lengths in mm, chosen here; by tests/benchmark/accuracy.cpp.
constexpr double every_mm = 0.25;
constexpr double beyond_apex_mm = 0.2;      ///< how far past its apex another fill is believed
constexpr double file_half_width_mm = 0.7;  ///< of an instrument of the scale, its handle's side included
constexpr double seen_half_width_mm = 0.4;  ///< of one seen on the film, of its shaft; tests/truth/scale_object.cpp
constexpr double beside_end_mm = 0.3;  ///< of a fill, in which what covers its surroundings counts as over its end
/// Between the tip of an instrument and the end of what was followed, where the two are one;
/// tests/truth/working_length.cpp.
constexpr double same_end_mm = 0.3;
constexpr double least_stretch_mm = 0.1;
constexpr double together_noise = 1.5;   ///< of a fit's noise, that fills fitted together may leave over
constexpr double unusable_share = 0.25;  ///< of a row's fill pixels

struct Nearest {
  double away_px = 1e30;       ///< distance of centre lines
  double half_width_px = 0.0;  ///< of the other there
};

Nearest nearest(const Foreign& other, Point p, double aspect) {
  Nearest best;
  for (std::size_t k = 0; k + 1 < other.line.size(); ++k) {
    const Point a = other.line[k];
    const Point b = other.line[k + 1];
    const double dx = b.x - a.x;
    const double dy = (b.y - a.y) * aspect;
    const double length2 = dx * dx + dy * dy;
    const double f =
        length2 > 0.0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * aspect * dy) / length2, 0.0, 1.0) : 0.0;
    const double away = std::hypot(p.x - a.x - f * dx, (p.y - a.y) * aspect - f * dy);
    if (away < best.away_px)
      best = {away, (1.0 - f) * other.half_width_px[k] + f * other.half_width_px[k + 1]};
  }
  return best;
}

Foreign as_foreign(const FilmOnBench& film, const KnownObject& object) {
  const double half_width_mm = object.seen == KnownObject::Seen::no ? file_half_width_mm : seen_half_width_mm;
  return {object.points, std::vector<double>(object.points.size(), half_width_mm / film.mm_per_px)};
}

/// Runs of places that fail a test, as stretches.
template <class Test>
std::vector<std::pair<double, double>> runs(double from, double to, double step, double least, Test&& test) {
  std::vector<std::pair<double, double>> found;
  bool open = false;
  for (double s = from; s <= to; s += step) {
    const bool hit = test(s);
    if (hit && !open) found.emplace_back(s - 0.5 * step, s + 0.5 * step);
    if (hit) found.back().second = s + 0.5 * step;
    open = hit;
  }
  std::erase_if(found, [&](const auto& run) { return run.second - run.first < least; });
  return found;
}

/// Stretches up to `to_px` of a fill, px of s, that a foreign object covers.
std::vector<std::pair<double, double>> covered_by(const FilmOnBench& film, const Followed& followed,
                                                  const Foreign& other, double to_px) {
  const double mm = film.mm_per_px;
  const FillModel& model = followed.fit.model;
  return runs(model.end_px - beside_end_mm / mm, to_px, 0.05 / mm, least_stretch_mm / mm, [&](double s) {
    const Nearest at = nearest(other, followed.path.at(s, model.centre_px(s)), film.aspect);
    return at.away_px < model.radius_px(s) + at.half_width_px - 0.5 * model.blur_px;
  });
}

/// Whether a fit with the others' thickness leaves no more over in a stretch than it does elsewhere.
bool fitted_together(const Followed& followed, double from, double to) {
  if (followed.other.empty() || !followed.settled) return false;
  const FillModel& model = followed.fit.model;
  const StripGrid& grid = followed.strip.grid;
  const int first = std::max(followed.fit.first_row, static_cast<int>(grid.row_of(from)));
  const int last = std::min(followed.fit.last_row, static_cast<int>(grid.row_of(to)) + 1);
  std::vector<double> left;
  for (int i = first; i < last; ++i) {
    const double s = grid.s_px(i);
    const double reach = model.radius_px(s) + 2.0 * model.blur_px;
    for (int j = 0; j < grid.columns; ++j)
      if (followed.fit.part.at<double>(i, j) > 0.0 && std::fabs(grid.n_px(j) - model.centre_px(s)) < reach)
        left.push_back(std::fabs(followed.fit.residual.at<double>(i, j)));
  }
  return left.size() > 20 && deviation_from(std::move(left)) < together_noise * followed.fit.noise;
}

}  // namespace

Foreign as_foreign(const FilmOnBench& film, const Followed& followed) {
  const double mm = film.mm_per_px;
  const FillModel& model = followed.fit.model;
  Foreign foreign;
  const double low = std::max(model.end_px, std::min(0.0, followed.path.first_px()) - beyond_apex_mm / mm);
  for (double s = low; s <= followed.coronal_px + every_mm / mm; s += every_mm / mm) {
    foreign.line.push_back(followed.path.at(s, model.centre_px(s)));
    foreign.half_width_px.push_back(model.radius_px(s) + 2.0 * model.blur_px);
  }
  return foreign;
}

std::vector<Foreign> scale_objects(const FilmOnBench& film, const std::vector<KnownObject>& objects,
                                   const CanalPath& path) {
  std::vector<Foreign> beside;
  for (const KnownObject& object : objects)
    if (!lies_in_canal(object, path, film.mm_per_px)) beside.push_back(as_foreign(film, object));
  return beside;
}

std::vector<Foreign> scale_objects_along(const FilmOnBench& film, const std::vector<KnownObject>& objects,
                                         const CanalPath& path, const Followed& followed) {
  std::vector<Foreign> along;
  for (const KnownObject& object : objects) {
    if (object.seen != KnownObject::Seen::shaft || !lies_in_canal(object, path, film.mm_per_px)) continue;
    const double tip_px = followed.path.project(object.points.back()).s_px;
    if (std::fabs(tip_px - followed.fit.model.end_px) * film.mm_per_px > same_end_mm)
      along.push_back(as_foreign(film, object));
  }
  return along;
}

bool near(const FilmOnBench& film, const Followed& followed, const std::vector<Foreign>& foreign) {
  const double mm = film.mm_per_px;
  const FillModel& model = followed.fit.model;
  for (const Foreign& other : foreign)
    for (double s = model.end_px - 1.0 / mm; s <= followed.coronal_px; s += every_mm / mm) {
      const Nearest at = nearest(other, followed.path.at(s, model.centre_px(s)), film.aspect);
      if (at.away_px < model.radius_px(s) + at.half_width_px + 0.9 / mm) return true;
    }
  return false;
}

std::vector<Unassessable> overlaps(const FilmOnBench& film, const Followed& followed, const Foreign& other,
                                   const std::string& other_name) {
  const FillModel& model = followed.fit.model;
  std::vector<Unassessable> found;
  const Nearest tip = nearest(other, followed.path.at(model.end_px, model.centre_px(model.end_px)), film.aspect);
  for (const auto& [from, to] : covered_by(film, followed, other, followed.coronal_px))
    found.push_back({from, to, "overlap", "The fill of canal " + other_name + " lies over this stretch.",
                     fitted_together(followed, from, to) ? Hidden::voids : Hidden::all,
                     from <= model.end_px && tip.away_px < tip.half_width_px - 2.0 * model.blur_px});
  return found;
}

std::vector<Unassessable> under_scale_object(const FilmOnBench& film, const Followed& followed,
                                             const Foreign& object) {
  std::vector<Unassessable> found;
  for (const auto& [from, to] :
       covered_by(film, followed, object, followed.coronal_px + beside_end_mm / film.mm_per_px))
    found.push_back({from, to, "scale-object", "An object that gives the scale lies over this stretch.", Hidden::all,
                     false});
  return found;
}

std::vector<Unassessable> unusable_stretches(const FilmOnBench& film, const Followed& followed) {
  const double mm = film.mm_per_px;
  const FillModel& model = followed.fit.model;
  const StripGrid& grid = followed.strip.grid;
  std::vector<Unassessable> found;
  const auto covered = [&](double s) {
    const int i = std::clamp(static_cast<int>(std::lround(grid.row_of(s))), 0, grid.rows - 1);
    const double r = model.radius_px(s) + model.blur_px;
    int all = 0;
    int bad = 0;
    for (int j = 0; j < grid.columns; ++j) {
      if (std::fabs(grid.n_px(j) - model.centre_px(s)) > r) continue;
      ++all;
      bad += followed.strip.usable.at<std::uint8_t>(i, j) == 0 ? 1 : 0;
    }
    return all > 0 && bad > unusable_share * all;
  };
  const auto off_film = [&](double s) {
    const Point p = followed.path.at(s, model.centre_px(s));
    const cv::Point here(static_cast<int>(std::floor(p.x)), static_cast<int>(std::floor(p.y)));
    if (!cv::Rect(cv::Point(0, 0), film.size).contains(here)) return true;
    return !film.padding.empty() && film.padding.at<std::uint8_t>(here) != 0;
  };
  for (const auto& [from, to] :
       runs(model.end_px, followed.coronal_px, grid.step_px, least_stretch_mm / mm, covered)) {
    const bool off = off_film(0.5 * (from + to));
    found.push_back({from, to, off ? "off-film" : "clipped",
                     off ? "This stretch lies off the film, or where it carries no grey."
                         : "The film's grey is clipped over this stretch: it carries no attenuation there.",
                     Hidden::all, false});
  }
  return found;
}

}  // namespace canalrule
