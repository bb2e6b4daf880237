#include "changed.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <variant>
#include <vector>

#include <doctest/doctest.h>
#include <opencv2/core.hpp>

namespace canalrule_test {

using namespace canalrule;

namespace {

using Move = std::function<Point(Point)>;

void move_all(Polyline& points, const Move& move) {
  for (Point& p : points) p = move(p);
}

/// The reading's marks on the film that was changed; what it says of the film's file no longer holds.
void move_marks(Reading& reading, const Move& move) {
  reading.image.columns.reset();
  reading.image.rows.reset();
  reading.image.sha256.reset();
  for (ScaleMark& mark : reading.scale) std::visit([&](auto& m) { move_all(m.points, move); }, mark);
  for (CanalMarks& canal : reading.canals) {
    move_all(canal.path, move);
    canal.apex = move(canal.apex);
    if (canal.coronal_reference) canal.coronal_reference = move(*canal.coronal_reference);
  }
}

Case with(const Case& opened, const cv::Mat& grey, const Move& move) {
  Case changed = opened;
  changed.film.grey = grey;
  move_marks(changed.reading, move);
  return changed;
}

/// How much of each old sample lies under each new one, `factor` new ones to an old one.
std::vector<std::vector<std::pair<int, double>>> overlaps(int count, double factor) {
  const int made = static_cast<int>(std::floor(count * factor + 1e-9));
  std::vector<std::vector<std::pair<int, double>>> all(static_cast<std::size_t>(made));
  for (int i = 0; i < made; ++i) {
    const double from = i / factor, to = (i + 1) / factor;
    for (int k = static_cast<int>(std::floor(from)); k < count && k < to; ++k) {
      const double part = std::min<double>(k + 1, to) - std::max<double>(k, from);
      if (part > 1e-12) all[static_cast<std::size_t>(i)].emplace_back(k, part * factor);
    }
  }
  return all;
}

/// Standard uncertainty of the terminus without the parts that the change leaves alone.
double own_uncertainty(const Terminus& terminus) {
  double sum = 0.0;
  for (const UncertaintyPart& part : terminus.parts)
    if (part.source == "outline") sum += part.standard_uncertainty_mm * part.standard_uncertainty_mm;
  return std::sqrt(sum);
}

struct Bounds {
  double share = 0.0;  ///< of the combined standard uncertainty
  double length_mm = 0.0;
  double taper = 0.0;
};

void check_same(const Result& before, const Result& after, const Bounds& bounds) {
  REQUIRE(before.canals.size() == after.canals.size());
  for (std::size_t c = 0; c < before.canals.size(); ++c) {
    const CanalResult& a = before.canals[c];
    const CanalResult& b = after.canals[c];
    REQUIRE(a.terminus.has_value());
    REQUIRE(b.terminus.has_value());
    const double terminus_bound =
        std::max(bounds.length_mm,
                 bounds.share * std::hypot(own_uncertainty(*a.terminus), own_uncertainty(*b.terminus)));
    const double moved = b.terminus->to_apex_mm - a.terminus->to_apex_mm;
    CHECK_MESSAGE(std::fabs(moved) <= terminus_bound,
                  "terminus moved by " << moved << " mm of " << terminus_bound);

    std::size_t compared = 0;
    double worst = 0.0, worst_at = 0.0, worst_change = 0.0;
    for (const WidthAt& one : a.width) {
      const auto other = std::find_if(b.width.begin(), b.width.end(), [&](const WidthAt& w) {
        return std::fabs(w.at_mm - one.at_mm) < 1e-6;
      });
      if (other == b.width.end()) continue;
      ++compared;
      const double change = other->width_mm - one.width_mm;
      const double share =
          std::fabs(change) /
          std::max(bounds.length_mm,
                   bounds.share * std::hypot(one.standard_uncertainty_mm, other->standard_uncertainty_mm));
      if (share > worst) {
        worst = share;
        worst_at = one.at_mm;
        worst_change = change;
      }
    }
    CHECK_MESSAGE(worst <= 1.0, "width at " << worst_at << " mm changed by " << worst_change << " mm, "
                                            << worst << " times what it may");
    // One width at either end may come or go with the ends.
    CHECK(compared + 2 >= std::max(a.width.size(), b.width.size()));

    REQUIRE(a.taper.overall.has_value());
    REQUIRE(b.taper.overall.has_value());
    const double taper_bound =
        std::max(bounds.taper, bounds.share * std::hypot(a.taper.overall->standard_uncertainty,
                                                         b.taper.overall->standard_uncertainty));
    const double change = b.taper.overall->value - a.taper.overall->value;
    CHECK_MESSAGE(std::fabs(change) <= taper_bound, "taper changed by " << change << " of " << taper_bound);
  }
}

}  // namespace

Case mirrored(const Case& opened) {
  cv::Mat grey;
  cv::flip(opened.film.grey, grey, 1);
  const double columns = opened.film.grey.cols;
  return with(opened, grey, [columns](Point p) { return Point{columns - p.x, p.y}; });
}

Case turned(const Case& opened, int quarters) {
  Case changed = opened;
  for (int i = 0; i < quarters; ++i) {
    cv::Mat grey;
    cv::transpose(changed.film.grey, grey);
    cv::flip(grey, grey, 1);
    const double rows = changed.film.grey.rows;
    changed = with(changed, grey, [rows](Point p) { return Point{rows - p.y, p.x}; });
  }
  return changed;
}

Case inverted(const Case& opened, Told told) {
  const double ends = opened.film.lowest_grey + opened.film.highest_grey;
  Case changed = with(opened, ends - opened.film.grey, [](Point p) { return p; });
  const bool was_dark = opened.reading.radiopaque == Radiopaque::dark;
  changed.reading.radiopaque.reset();
  changed.film.radiopaque.reset();
  if (told == Told::other_side) changed.reading.radiopaque = was_dark ? Radiopaque::bright : Radiopaque::dark;
  return changed;
}

Case rescaled(const Case& opened, double gain, double offset) {
  Case changed = with(opened, gain * opened.film.grey + offset, [](Point p) { return p; });
  changed.film.lowest_grey = gain * opened.film.lowest_grey + offset;
  changed.film.highest_grey = gain * opened.film.highest_grey + offset;
  return changed;
}

Case on_wider_scale(const Case& opened, int gain, int offset) {
  Case changed = with(opened, gain * opened.film.grey + offset, [](Point p) { return p; });
  changed.film.lowest_grey = 0.0;
  changed.film.highest_grey = 65535.0;
  changed.film.bits_stored = 16;
  return changed;
}

Case resampled(const Case& opened, double across, double down) {
  const cv::Mat& old = opened.film.grey;
  const auto by_column = overlaps(old.cols, across);
  const auto by_row = overlaps(old.rows, down);
  cv::Mat grey(static_cast<int>(by_row.size()), static_cast<int>(by_column.size()), CV_32FC1);
  for (int r = 0; r < grey.rows; ++r)
    for (int c = 0; c < grey.cols; ++c) {
      double sum = 0.0;
      for (const auto& [row, w] : by_row[static_cast<std::size_t>(r)])
        for (const auto& [column, v] : by_column[static_cast<std::size_t>(c)])
          sum += w * v * static_cast<double>(old.at<float>(row, column));
      grey.at<float>(r, c) = static_cast<float>(std::round(sum));
    }
  Case changed = with(opened, grey, [across, down](Point p) { return Point{p.x * across, p.y * down}; });
  changed.film.row_to_column_aspect = opened.film.row_to_column_aspect * across / down;
  return changed;
}

Case cropped(const Case& opened, int left, int top) {
  const cv::Rect kept(left, top, opened.film.grey.cols - left, opened.film.grey.rows - top);
  return with(opened, opened.film.grey(kept).clone(), [left, top](Point p) {
    return Point{p.x - left, p.y - top};
  });
}

void check_same_millimetres(const Result& before, const Result& after) {
  check_same(before, after, {1.0, 0.01, 0.001});
}

void check_same_to_rounding(const Result& before, const Result& after) {
  check_same(before, after, {0.0, 0.002, 0.0005});
}

}  // namespace canalrule_test
