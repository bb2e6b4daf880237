#include "scale_object.hpp"

#include <algorithm>
#include <array>
#include <canalrule/geometry/path.hpp>
#include <canalrule/geometry/strip.hpp>
#include <cmath>

#include "radiopacity.hpp"
#include "ridge.hpp"
#include "robust.hpp"
#include "soft_edge.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/working_length.cpp holds them.
constexpr double beyond_mm = 1.6;       ///< film looked at beyond each drawn end
constexpr double beside_mm = 1.3;       ///< and to each side
/// From tip to stop: a stop sits on the crown, and no tooth is so short (common practice, no source).
constexpr double least_length_mm = 12.0;
constexpr double reach_mm = 0.6;        ///< farthest that an end is moved
constexpr double clear_mm = 0.1;        ///< an edge nearer to the reach's end than this isn't one
constexpr double inside_mm = 2.5;       ///< of the object, by which its end is fitted
constexpr double flank_mm = 0.40;       ///< background of a profile across
constexpr double point_every_mm = 1.0;  ///< along the object, where it is followed
constexpr double stop_from_mm = 0.25;   ///< clear of the shaft, where a stop is looked for
constexpr double stop_to_mm = 1.1;      ///< stops are discs of 2 to 3 mm (common practice, no source)
constexpr double stop_seen_mm = 0.7;    ///< of a stop's thickness, looked at
constexpr double least_share = 0.9;     ///< of the drawn line, on which the instrument must be seen
constexpr double most_unseen_mm = 0.5;  ///< of it, in one piece: an instrument is whole, a root's edges aren't
/// A thing that is seen is drawn this near to it; two landmarks of a tooth lie so near to nothing that looks like an
/// instrument. tests/truth/scale_object.cpp and together.cpp.
constexpr double as_drawn_mm = 0.25;
/// Half the width of a line over one of its halves; a root's outline may look like a wider one. Chosen here on 300
/// simulated films, of which two show such; no test holds it.
constexpr double widest_line_mm = 0.35;
constexpr double most_share_beyond_tip = 0.5;
constexpr double seen_share = 0.3;     ///< of its usual height, by which a block counts as seen
constexpr double gone_share = 0.35;    ///< of its height at the tip, at most this beyond it
constexpr double least_score = 6.0;    ///< of an edge, standard deviations
constexpr double least_sure = 2.0;     ///< of the ridge, in the strip's own variation
/// The same of a whole line where it was drawn: a fill beside it makes the strip's variation larger.
/// tests/truth/scale_object.cpp.
constexpr double least_sure_whole = 1.4;
constexpr double model_mm = 0.01;      ///< standard uncertainty of what the model of an end can't follow
constexpr double same_width = 1.3;     ///< times by which a shaft's radius may differ past its stop
constexpr double largest_u_mm = 0.15;  ///< an end known less well stays as drawn

/// Radii of hand instruments: tips from size 06, shafts of up to 1.4 mm (ISO 3630-1, from memory).
constexpr std::array radii_mm = {0.06, 0.10, 0.17, 0.28, 0.45};

Strip strip_along(const Film& film, const cv::Mat& grey, const CanalPath& path, double from_px, double to_px,
                  double half_px, double step_px = 1.0) {
  StripGrid grid;
  grid.step_px = step_px;
  grid.first_s_px = std::floor(from_px);
  grid.rows = static_cast<int>((to_px - from_px) / step_px) + 1;
  grid.columns = 2 * static_cast<int>(half_px / step_px) + 1;
  grid.first_n_px = -std::floor(half_px / step_px) * step_px;
  return sample_strip(grey, film.unusable, path, grid);
}

/// The object followed on the strip: its offset and height at each block.
struct Line {
  Blocks blocks;
  Ridge ridge;  ///< offset and radius in px
  double usual_height = 0.0;
  double usual_sure = 0.0;
};

/// Along the drawn line, from beyond its one end to beyond the other; s is 0 at its last point.
Line follow(const Film& film, const cv::Mat& grey, const CanalPath& path, double length_px, double mm) {
  const double step = strip_step_px(mm);
  const Strip strip =
      strip_along(film, grey, path, -beyond_mm / mm, length_px + beyond_mm / mm, (beside_mm + 0.1) / mm, step);
  const double columns_per_mm = 1.0 / (mm * step);
  std::vector<Template> templates;
  for (const double r : radii_mm) templates.emplace_back(std::max(1.0, r * columns_per_mm), flank_mm * columns_per_mm);
  const cv::Mat all(strip.value.size(), CV_8UC1, cv::Scalar(255));
  Line line;
  line.blocks = average_blocks(strip, all, mm);
  line.ridge = find_ridge(line.blocks, templates, strip.grid.columns / 2, columns_per_mm, 1.0);
  for (double& offset : line.ridge.offset) offset *= step;
  for (double& radius : line.ridge.radius) radius *= step;
  std::vector<double> heights, sure;
  for (std::size_t b = 0; b < line.blocks.s_px.size(); ++b)
    if (line.blocks.s_px[b] > 0.0 && line.blocks.s_px[b] < length_px) {
      heights.push_back(line.ridge.height[b]);
      sure.push_back(line.ridge.sure[b]);
    }
  line.usual_height = median(std::move(heights));
  line.usual_sure = median(std::move(sure));
  return line;
}

/// Px beside a drawn end that may still be the object's or not, and to which the film is looked at.
struct BesideEnd {
  double clear, out;
};
BesideEnd beside_end(double mm) { return {(reach_mm + clear_mm) / mm, 0.9 * beyond_mm / mm}; }

/// Share of the blocks between two places on which the object is seen; 1 where there are none.
double seen_between(const Line& line, double from_px, double to_px) {
  int seen = 0, all = 0;
  for (std::size_t b = 0; b < line.blocks.s_px.size(); ++b) {
    if (line.blocks.s_px[b] < from_px || line.blocks.s_px[b] > to_px) continue;
    const auto& usable = line.blocks.usable[b];
    if (usable[usable.size() / 2] == 0) continue;
    ++all;
    if (line.ridge.height[b] > seen_share * line.usual_height) ++seen;
  }
  return all == 0 ? 1.0 : static_cast<double>(seen) / all;
}

/// The longest stretch between two places on which the object isn't seen, px.
double longest_unseen(const Line& line, double from_px, double to_px) {
  double longest = 0.0, since = from_px;
  for (std::size_t b = 0; b < line.blocks.s_px.size(); ++b) {
    const double s = line.blocks.s_px[b];
    if (s < from_px || s > to_px) continue;
    const auto& usable = line.blocks.usable[b];
    if (usable[usable.size() / 2] == 0 || line.ridge.height[b] > seen_share * line.usual_height) since = s;
    longest = std::max(longest, s - since);
  }
  return longest;
}

/// Points on the object every millimetre from its stop to near its tip, then straight on to `tip_px`.
Polyline on_object(const Line& line, const CanalPath& path, double stop_px, double tip_px, double mm) {
  const double every = point_every_mm / mm;
  const int pieces = std::max(2, static_cast<int>(std::lround((stop_px - tip_px) / every)));
  Polyline points;
  for (int k = 0; k <= pieces; ++k) {
    const double s = stop_px + (tip_px - stop_px) * k / pieces;
    double sum = 0.0, weight = 0.0;
    for (std::size_t b = 0; b < line.blocks.s_px.size(); ++b) {
      const double away = (line.blocks.s_px[b] - s) / (0.5 * every);
      if (std::fabs(away) > 1.5 || line.ridge.height[b] < seen_share * line.usual_height) continue;
      const double w = std::exp(-2.0 * away * away);
      sum += w * line.ridge.offset[b];
      weight += w;
    }
    if (weight > 0.0) points.push_back(path.at(s, sum / weight));
  }
  return points;
}

/// The file's end: its height across at each row, from beyond the drawn tip to inside it.
std::optional<EndSeen> find_tip(const Film& film, const cv::Mat& grey, const CanalPath& path,
                                double radius_px, double mm) {
  const double half = beside_mm / mm;
  const Strip strip = strip_along(film, grey, path, -beyond_mm / mm, inside_mm / mm, half);
  const Template across(std::max(1.0, radius_px), flank_mm / mm);
  Profile profile;
  profile.first_s_px = strip.grid.first_s_px;
  const Blocks rows = rows_as_blocks(strip);
  for (std::size_t i = 0; i < rows.value.size(); ++i) {
    const double height = across.amplitude(rows, i, strip.grid.columns / 2);
    if (std::isnan(height)) return std::nullopt;
    profile.value.push_back(height);
  }
  // A tip is a cone, a half ball or blunt: its end lies 0 to 0.9 radii before where half its section is
  // reached (a cone of 75 degrees: 0.92; ISO 3630-1, from memory); an ellipsoid's 0.29 of its rounding.
  EdgeSearch search;
  search.from_px = -reach_mm / mm;
  search.to_px = reach_mm / mm;
  for (const double share : {0.3, 1.0, 1.8, 3.0})
    search.roundings.push_back({share * radius_px, share == 1.0 || share == 1.8 ? 1.0 : 0.5});
  search.blurs_px = {0.8, 1.3, 2.0, 3.0};
  search.correlated_px = 0.3 / mm;
  const std::optional<Edge> edge = find_edge(profile, search);
  if (!edge || edge->score < least_score || edge->height <= 0.0 ||
      std::fabs(edge->level) > gone_share * edge->height || edge->u_px > largest_u_mm / mm ||
      std::fabs(edge->at_px) > (reach_mm - clear_mm) / mm)
    return std::nullopt;
  return EndSeen{-edge->at_px, std::hypot(edge->u_px, model_mm / mm)};
}

/// The stop's face: the grey on both sides of the shaft, rising where the disc begins.
std::optional<EndSeen> find_stop(const Film& film, const cv::Mat& grey, const CanalPath& path, double stop_px,
                                 double radius_px, double mm) {
  const Strip strip = strip_along(film, grey, path, stop_px - 1.2 / mm, stop_px + stop_seen_mm / mm,
                                  (stop_to_mm + 0.05) / mm + radius_px);
  Profile profile;
  profile.first_s_px = strip.grid.first_s_px - stop_px;
  for (int i = 0; i < strip.grid.rows; ++i) {
    double sum = 0.0;
    int count = 0;
    for (int j = 0; j < strip.grid.columns; ++j) {
      const double off = std::fabs(strip.grid.n_px(j)) - radius_px;
      if (off < stop_from_mm / mm || off > (stop_to_mm - radius_px * mm) / mm) continue;
      if (strip.usable.at<std::uint8_t>(i, j) == 0) continue;
      sum += static_cast<double>(strip.value.at<float>(i, j));
      ++count;
    }
    if (count == 0) return std::nullopt;
    profile.value.push_back(sum / count);
  }
  EdgeSearch search;
  search.from_px = -reach_mm / mm;
  search.to_px = 0.6 * reach_mm / mm;
  search.roundings = {{0.0, 1.0}};
  search.blurs_px = {0.8, 1.3, 2.0, 3.0};
  search.correlated_px = 0.3 / mm;
  const std::optional<Edge> edge = find_edge(profile, search);
  if (!edge || edge->score < least_score || edge->height <= 0.0 || edge->u_px > largest_u_mm / mm)
    return std::nullopt;
  return EndSeen{edge->at_px, std::hypot(edge->u_px, model_mm / mm)};
}

double radius_px(const Line& line, double from_px, double to_px) {
  std::vector<double> radii;
  for (std::size_t b = 0; b < line.blocks.s_px.size(); ++b)
    if (line.blocks.s_px[b] > from_px && line.blocks.s_px[b] < to_px) radii.push_back(line.ridge.radius[b]);
  return median(std::move(radii));
}

/// What looks like an instrument along a drawn length.
struct Track {
  CanalPath path;   ///< the drawn length from the stop to the tip
  double length_px = 0.0;
  Line line;        ///< along `path`
  Polyline on;      ///< points on it, from beyond the stop to near the tip
  bool sure = false, whole = false;
};

std::optional<Track> find_track(const Film& film, const cv::Mat& grey, const KnownLength& mark, double aspect) {
  Polyline points = mark.points;
  Track track{CanalPath(points, points.back(), aspect), 0.0, {}, {}, false, false};
  track.length_px = track.path.last_px() - track.path.first_px();
  const double length = track.length_px;
  const double mm = mark.length_mm / length;
  track.line = follow(film, grey, track.path, length, mm);
  const auto [clear, out] = beside_end(mm);
  const double at_back = seen_between(track.line, -out, -clear);
  const double at_front = seen_between(track.line, length + clear, length + out);
  if (track.line.usual_sure < least_sure_whole || track.line.usual_height <= 0.0 ||
      seen_between(track.line, clear, length - clear) < least_share || std::max(at_back, at_front) < least_share ||
      std::min(at_back, at_front) > most_share_beyond_tip)
    return std::nullopt;
  track.sure = track.line.usual_sure >= least_sure;
  track.whole = longest_unseen(track.line, clear, length - clear) <= most_unseen_mm / mm;
  if (!track.sure && !track.whole) return std::nullopt;
  if (at_back > at_front) {  // drawn from the tip to the stop
    std::reverse(points.begin(), points.end());
    track.path = CanalPath(points, points.back(), aspect);
    track.line = follow(film, grey, track.path, length, mm);
  }
  track.on = on_object(track.line, track.path, length + 0.5 / mm, 0.7 / mm, mm);
  if (track.on.size() < 3) return std::nullopt;
  return track;
}

/// A line where it was drawn, or nothing that is seen.
ObjectSeen as_line_or_drawn(const KnownLength& mark, const std::optional<Track>& track) {
  ObjectSeen seen;
  seen.points = mark.points;
  if (!track) return seen;
  const double mm = mark.length_mm / track->length_px;
  const double middle = 0.5 * track->length_px;
  const bool thin = std::min(radius_px(track->line, 0.5 / mm, middle),
                             radius_px(track->line, middle, track->length_px)) * mm < widest_line_mm;
  if (!thin || !std::all_of(track->on.begin(), track->on.end(), [&](const Point& p) {
        return std::fabs(track->path.project(p).n_px) * mm < as_drawn_mm;
      }))
    return seen;
  seen.seen = KnownObject::Seen::line;
  seen.points = track->on;
  seen.points.push_back(track->path.at(0.0));
  return seen;
}

}  // namespace

ObjectSeen see_object(const KnownLength& mark, const Film& film, std::optional<Radiopaque> radiopaque,
                      double aspect) {
  if (mark.length_mm < least_length_mm) return as_line_or_drawn(mark, std::nullopt);
  const CanalPath drawn(mark.points, mark.points.back(), aspect);
  const double mm = mark.length_mm / (drawn.last_px() - drawn.first_px());
  const Radiopaque bright = radiopaque ? *radiopaque : find_polarity(film, {drawn}, mm);
  const cv::Mat grey = bright == Radiopaque::dark ? cv::Mat(-film.grey) : film.grey;

  const std::optional<Track> track = find_track(film, grey, mark, aspect);
  const ObjectSeen as_line = as_line_or_drawn(mark, track);
  if (!track || !track->sure || !track->whole) return as_line;
  const auto& [path, length, line, on, sure, whole] = *track;
  // From here on along the object itself; its ends where the drawn ones project.
  const CanalPath object(on, path.at(0.0), aspect);
  const double stop_px = object.project(path.at(length)).s_px;
  const std::optional<EndSeen> tip =
      find_tip(film, grey, object, radius_px(line, 0.5 / mm, inside_mm / mm), mm);
  if (!tip) return as_line;
  const std::optional<EndSeen> stop =
      find_stop(film, grey, object, stop_px, radius_px(line, length - 1.0 / mm, length + 1.0 / mm), mm);
  const auto [clear, out] = beside_end(mm);
  const double within = radius_px(line, length - 2.5 / mm, length - clear);
  const double past = radius_px(line, length + clear, length + out);
  const bool shaft = past < same_width * within && within < same_width * past;
  if (!stop && !shaft) return as_line;
  const double tip_at = -tip->moved_px;
  const double stop_at = stop_px + (stop ? stop->moved_px : 0.0);
  const int pieces = std::max(2, static_cast<int>(std::lround((stop_at - tip_at) * mm / point_every_mm)));
  ObjectSeen seen{stop.has_value(), KnownObject::Seen::shaft, {}, *tip, stop.value_or(EndSeen{})};
  for (int k = 0; k <= pieces; ++k)
    seen.points.push_back(object.at(stop_at + (tip_at - stop_at) * k / pieces));
  return seen;
}

}  // namespace canalrule
