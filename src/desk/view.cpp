#include <canalrule/desk/view.hpp>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

namespace canalrule::desk {

namespace {

constexpr double middle_grey = 128.0;

/// Shares of the pixels that become black and white in an automatic tone; chosen here, and held by
/// tests/unit/desk/test_view.cpp: a marker or a collimated border doesn't take the range.
constexpr double black_share = 0.005, white_share = 0.995;

/// The narrowest window, as a share of what the film's bits can hold: narrower ones show single grey levels.
constexpr double narrowest_share = 1e-3;

/// Screen pixels that a drag over a whole range takes; chosen here: a hand's easy reach.
constexpr double drag_px = 400.0;

/// Pixels looked at for an automatic tone; more don't change it visibly.
constexpr int most_looked_at = 100'000;

double range_of(const Film& film) { return std::max(film.highest_grey - film.lowest_grey, 1.0); }

cv::Rect whole(const Film& film) { return {0, 0, film.grey.cols, film.grey.rows}; }

bool is_inverted(const Film& film, const Tone& tone) {
  const bool dark = film.radiopaque == Radiopaque::dark;
  return dark != (tone.shown == Shown::inverted);
}

Tone tone_of(const Film& film, const cv::Rect& region) {
  const double area = static_cast<double>(region.width) * region.height;
  const int step = std::max(1, static_cast<int>(std::sqrt(area / most_looked_at)));
  std::vector<float> greys;
  for (int row = region.y; row < region.y + region.height; row += step) {
    const float* grey = film.grey.ptr<float>(row);
    const std::uint8_t* unusable = film.unusable.empty() ? nullptr : film.unusable.ptr<std::uint8_t>(row);
    for (int column = region.x; column < region.x + region.width; column += step)
      if (unusable == nullptr || unusable[column] == 0) greys.push_back(grey[column]);
  }
  if (greys.empty()) return {(film.lowest_grey + film.highest_grey) / 2.0, 1.0, Shown::as_stored};
  const auto quantile = [&](double share) {
    const auto place = static_cast<std::ptrdiff_t>(share * static_cast<double>(greys.size() - 1));
    std::nth_element(greys.begin(), greys.begin() + place, greys.end());
    return static_cast<double>(greys[static_cast<std::size_t>(place)]);
  };
  const double black = quantile(black_share), white = quantile(white_share);
  return {(black + white) / 2.0, std::max(white - black, narrowest_share * range_of(film)), Shown::as_stored};
}

}  // namespace

cv::Mat shown_picture(const Film& film, const Tone& tone) { return shown_picture(film, tone, whole(film)); }

cv::Mat shown_picture(const Film& film, const Tone& tone, const cv::Rect& region) {
  const cv::Rect seen = region & whole(film);
  cv::Mat picture;
  const double gain = (is_inverted(film, tone) ? -255.0 : 255.0) / tone.width;
  film.grey(seen).convertTo(picture, CV_8U, gain, 127.5 - gain * tone.centre);
  if (!film.unusable.empty()) picture.setTo(middle_grey, film.unusable(seen));
  return picture;
}

Tone automatic_tone(const Film& film) { return tone_of(film, whole(film)); }

Tone automatic_tone(const Film& film, const Drawing& drawing) {
  Polyline marks;
  for (const CanalDrawn& canal : drawing.canals) {
    marks.insert(marks.end(), canal.path.begin(), canal.path.end());
    if (canal.apex) marks.push_back(*canal.apex);
  }
  if (marks.size() < 2) return automatic_tone(film);
  const auto [left, right] =
      std::minmax_element(marks.begin(), marks.end(), [](Point a, Point b) { return a.x < b.x; });
  const auto [top, bottom] =
      std::minmax_element(marks.begin(), marks.end(), [](Point a, Point b) { return a.y < b.y; });
  const double margin = 0.2 * std::max(right->x - left->x, bottom->y - top->y);
  const auto from = [](double edge, double by) { return static_cast<int>(std::floor(edge - by)); };
  const cv::Point corner(from(left->x, margin), from(top->y, margin));
  const cv::Point far(from(right->x, -margin) + 1, from(bottom->y, -margin) + 1);
  const cv::Rect seen = cv::Rect(corner, far) & whole(film);
  return seen.empty() ? automatic_tone(film) : tone_of(film, seen);
}

Tone dragged(const Tone& tone, const Film& film, double right_px, double down_px) {
  const double range = range_of(film);
  Tone changed = tone;
  const double darker = is_inverted(film, tone) ? right_px : -right_px;
  changed.centre = tone.centre + darker * tone.width / drag_px;
  changed.width =
      std::clamp(tone.width * std::exp2(down_px / (drag_px / 4.0)), range * narrowest_share, range * 10.0);
  return changed;
}

std::optional<double> grey_under(const Film& film, Point at) {
  if (!(at.x >= 0.0 && at.y >= 0.0 && at.x < film.grey.cols && at.y < film.grey.rows)) return std::nullopt;
  const int column = static_cast<int>(at.x), row = static_cast<int>(at.y);
  if (!film.unusable.empty() && film.unusable.at<std::uint8_t>(row, column) != 0) return std::nullopt;
  return static_cast<double>(film.grey.at<float>(row, column));
}

}  // namespace canalrule::desk
