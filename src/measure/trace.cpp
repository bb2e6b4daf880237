#include "trace.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "restoration.hpp"
#include "robust.hpp"

namespace canalrule {

namespace {

// All lengths of this file in mm; chosen here, tests/truth/terminus.cpp holds them.
constexpr double least_radius_mm = 0.06;
constexpr double widest_template_mm = 1.02;
constexpr int radius_steps = 10;
/// Radius up to which a fill is looked for at the apex, and how much more towards the crown, mm per mm: a wider ridge
/// is the root.
constexpr double widest_at_apex_mm = 0.35;
constexpr double widest_growth = 0.05;
constexpr double nearly_widest = 0.74;          ///< share of that radius: templates are a third apart
constexpr double flank_mm = 0.40;               ///< flank beside a template on each side
constexpr double least_coronal_piece_mm = 0.7;  ///< within the drawn path, coronal of a gap, that is fill
constexpr double least_like_piece_mm = 0.5;     ///< the same where it is as radiopaque as the fill:
constexpr double least_like = 0.6, most_like = 1.4;  ///< shares of what the fill shows
constexpr double seen_to_end_mm = 0.4;          ///< without fill, that shows where it ends: a restoration goes on
constexpr double apart_mm = 0.35;               ///< beyond the apex, where a piece begins that lies apart
constexpr double apart_gap_mm = 0.75;           ///< or so far from the fill
constexpr double least_of_clipped = 0.1;        ///< share that tells a fill from what is as clipped as its flanks
constexpr std::size_t coronal_blocks = 5;       ///< to both sides of a coronal end that show whether it is seen
constexpr double least_on_film_mm = 0.8;        ///< of a fill that runs off the film
constexpr std::size_t blocks_to_edge = 3;       ///< coronal of it, that must lie on the film for it to be seen
constexpr double least_drift = 0.3;             ///< of the contrast along the surest fill, of its median
constexpr double most_drift = 0.6;              ///< anywhere
constexpr double surely_faint = 4.0;            ///< deviations that less than a usual fill shows at least
constexpr double unknown_noise = 0.15;          ///< of the share, where no flank is free to tell it
constexpr double texture_length_mm = 0.25;      ///< along the canal, over which texture stays alike
/// Log-odds against what is neither fill nor nothing coronal of a fill; and where it looks like fill within the drawn
/// path, by the share of the fill that it shows.
constexpr double anything_coronal = 0.7, like_fill_coronal = 4.0, looks_like_fill = 0.75;

/// The surest run of blocks: the stretch of the greatest summed evidence above two fifths of what the
/// upper fifth of the drawn path shows, short dips included.
struct Run {
  std::size_t first = 0, last = 0;  ///< inclusive
  bool found = false;
};

Run surest_run(const Ridge& ridge, const std::vector<bool>& drawn) {
  std::vector<double> sure;
  for (std::size_t b = 0; b < drawn.size(); ++b)
    if (drawn[b]) sure.push_back(ridge.sure[b]);
  Run run;
  if (sure.size() < 5) return run;
  std::sort(sure.begin(), sure.end());
  const double level = 0.4 * sure[sure.size() * 4 / 5];
  if (level <= 0.0) return run;
  // Kadane's greatest sum of (evidence - level), capped so that one bright spot doesn't decide.
  double sum = 0.0;
  double top = 0.0;
  std::size_t start = 0;
  for (std::size_t b = 0; b < drawn.size(); ++b) {
    const double gain = drawn[b] ? std::clamp(ridge.sure[b] - level, -level, level) : -level;
    if (sum <= 0.0) {
      sum = 0.0;
      start = b;
    }
    sum += gain;
    if (sum > top) {
      top = sum;
      run = {start, b, true};
    }
  }
  return run;
}

/// Radius against s by iterated weighted least squares with bisquare weights; the slope is kept within
/// -0.02 to 0.1 px per px (taper -0.04 to 0.2).
RadiusLine fit_radius(const Search& search) {
  std::vector<double> s;
  std::vector<double> r;
  for (std::size_t b = search.first; b <= search.last; ++b) {
    s.push_back(search.blocks.s_px[b]);
    r.push_back(search.ridge.radius[b] * search.step_px);
  }
  RadiusLine line{median(r), 0.0};
  double scale = std::max(1.0, 0.5 * line.at_px);
  const double middle = std::accumulate(s.begin(), s.end(), 0.0) / static_cast<double>(s.size());
  for (int round = 0; round < 8; ++round) {
    double sw = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
    for (std::size_t i = 0; i < s.size(); ++i) {
      const double x = s[i] - middle;
      const double u = (r[i] - line.at_px - line.slope * x) / (4.0 * scale);
      const double w = std::fabs(u) < 1.0 ? (1.0 - u * u) * (1.0 - u * u) : 0.0;
      sw += w;
      sx += w * x;
      sy += w * r[i];
      sxx += w * x * x;
      sxy += w * x * r[i];
    }
    const double det = sw * sxx - sx * sx;
    if (sw <= 0.0 || std::fabs(det) < 1e-9) break;
    line.slope = std::clamp((sw * sxy - sx * sy) / det, -0.02, 0.1);
    line.at_px = (sy - line.slope * sx) / sw;
    std::vector<double> away;
    for (std::size_t i = 0; i < s.size(); ++i)
      away.push_back(std::fabs(r[i] - line.at_px - line.slope * (s[i] - middle)));
    scale = std::max(0.5, deviation_from(std::move(away)));
  }
  line.at_px -= line.slope * middle;
  return line;
}

/// How the contrast changes along a fill, as a share of its median: a film's curve shows less of the same thickness
/// under the apex, where there is less of everything else, than under the crown.
struct Drift {
  double middle_px = 0.0, per_px = 0.0;

  double at(double s) const { return std::clamp(1.0 + per_px * (s - middle_px), 1.0 - most_drift, 1.0 + most_drift); }
};

/// By the median of the slopes between places a third of the stretch apart.
Drift drift_of(const std::vector<double>& places, const std::vector<double>& contrast, double usual) {
  std::vector<double> slopes;
  const std::size_t apart = std::max<std::size_t>(1, places.size() / 3);
  for (std::size_t k = 0; k + apart < places.size(); ++k)
    slopes.push_back((contrast[k + apart] - contrast[k]) / (places[k + apart] - places[k]) / usual);
  const double slope = median(std::move(slopes));
  if (places.empty() || std::fabs(slope) * (places.back() - places.front()) < least_drift) return {};
  return {median(places), slope};
}

/// The middle one of each group of a mask's rows.
cv::Mat middle_rows(const cv::Mat& mask, int group, int groups) {
  if (mask.empty()) return {};
  cv::Mat rows(groups, mask.cols, CV_8UC1);
  for (int k = 0; k < groups; ++k) mask.row(k * group + group / 2).copyTo(rows.row(k));
  return rows;
}

/// Whether the grey is clipped over most of a fill's width.
bool clipped_at(const cv::Mat& clipped, std::size_t block, int place, double radius) {
  if (clipped.empty()) return false;
  const int half = static_cast<int>(radius);
  const int from = std::max(0, place - half), to = std::min(clipped.cols, place + half + 1);
  return from < to && 2 * cv::countNonZero(clipped.row(static_cast<int>(block)).colRange(from, to)) > to - from;
}

enum State : std::size_t { coronal_of_fill, fill, gap, apical_of_fill, states };

/// Log-likelihoods of a block's share of the expected attenuation in each state, bounded below so that
/// no single block decides. Where nothing is seen (NaN), as under another canal's fill, a fill is likelier to go on
/// than to end. Clipped grey shows less than there is: what stands out from its flanks at all may be a whole fill.
std::array<double, states> emissions(double share, double noise, bool under_another, bool clipped, double correlated,
                                     bool within_path) {
  if (std::isnan(share)) {
    const double elsewhere = (under_another ? -0.5 : -0.2) / correlated;
    return {elsewhere, 0.0, elsewhere, elsewhere};
  }
  const auto normal = [&](double mean, double own) {
    const double sd = std::hypot(noise, own);
    const double z = (share - mean) / sd;
    return std::max(-8.0, -0.5 * z * z - std::log(sd * 2.5066));
  };
  const bool at_least = clipped && share > least_of_clipped && share < 1.0;
  const double in = at_least ? -std::log(std::hypot(noise, 0.15) * 2.5066) : normal(1.0, share > 1.0 ? 0.25 : 0.15);
  const double empty = normal(0.0, 0.15);
  // A gap: anything from -0.2 to 1, seen through the same noise.
  const auto below = [&](double edge) { return 0.5 * std::erfc((share - edge) / (1.41421356 * noise)); };
  const double between = std::max(-8.0, std::log(std::max(1e-6, below(1.0) - below(-0.2)) / 1.2));
  // A gap is nearly as likely to be complete as anything short of it. Coronal of the fill anything may lie, but what
  // looks like fill inside the drawn path hardly does.
  const bool looks_like = within_path && share > looks_like_fill && share < most_like;
  const double anything = between - (looks_like ? like_fill_coronal : anything_coronal);
  return {std::max(empty, anything) / correlated, in / correlated, std::max(between, empty - 0.2) / correlated,
          empty / correlated};
}

struct Ends {
  std::size_t apical = 0, coronal = 0;  ///< blocks, inclusive
  bool open = false;
  std::optional<LastGap> last_gap;
};

/// The most probable sequence of states from crown to apex. Blocks before `first` lie apical of the fill.
Ends walk(const Trace& trace, const std::vector<bool>& under_another, const std::vector<bool>& clipped,
          std::size_t surest, double block_px, double mm_per_px, double drawn_to, std::size_t first = 0) {
  const std::size_t rows = trace.share.size();
  const double correlated = std::max(1.0, texture_length_mm / (block_px * mm_per_px));
  constexpr double forbidden = -1e30;
  // Rows: from; columns: to. Order as in State.
  constexpr std::array<std::array<double, states>, states> turn = {{
      {0.0, -1.0, forbidden, forbidden},
      {forbidden, 0.0, 0.0, -3.0},
      {forbidden, 0.0, -0.1, forbidden},
      {forbidden, forbidden, forbidden, 0.0},
  }};
  std::vector<std::array<double, states>> score(rows);
  std::vector<std::array<std::size_t, states>> from(rows);
  for (std::size_t step = 0; step < rows; ++step) {
    const std::size_t b = rows - 1 - step;
    std::array<double, states> here =
        emissions(trace.share[b], trace.share_noise[b], under_another[b], clipped[b], correlated,
                  trace.s_px[b] <= drawn_to);
    // Coronal of the drawn path the fill is believed only while it lasts without a break.
    if (trace.s_px[b] > drawn_to) {
      here[gap] += forbidden;
      here[fill] -= 0.4;
    }
    if (b < first) here[gap] = here[fill] = forbidden;
    for (std::size_t to = 0; to < states; ++to) {
      double top = step == 0 ? (to == gap || to == apical_of_fill ? forbidden : 0.0) : forbidden;
      std::size_t origin = to;
      if (step > 0) {
        for (std::size_t o = 0; o < states; ++o) {
          // A gap is crossed more readily on the crown's side of the surest fill than beyond it.
          const bool crosses = (o == fill && to == gap) || (o == gap && to == fill);
          const double value = score[b + 1][o] + turn[o][to] - (crosses ? (b >= surest ? 1.8 : 3.5) : 0.0);
          if (value > top) {
            top = value;
            origin = o;
          }
        }
      }
      score[b][to] = top + here[to];
      from[b][to] = origin;
    }
  }
  std::size_t state = score[0][fill] > score[0][apical_of_fill] ? fill : apical_of_fill;
  Ends ends;
  bool any = false;
  bool gap_before = false;
  for (std::size_t b = 0; b < rows; ++b) {
    if (state == fill) {
      if (!any) ends.apical = b;
      if (any && gap_before) {
        // A piece beyond the apex that begins far from it, or far from the fill, is not of that fill: it lies
        // apart. What lies between may have passed for a gap only on the way to it.
        const double begins_mm = trace.s_px[ends.coronal] * mm_per_px;
        const double gap_mm = (trace.s_px[b] - trace.s_px[ends.coronal]) * mm_per_px;
        if (begins_mm <= -apart_mm || (begins_mm <= 0.0 && gap_mm >= apart_gap_mm))
          return walk(trace, under_another, clipped, surest, block_px, mm_per_px, drawn_to, ends.coronal + 1);
        ends.last_gap = LastGap{ends.coronal, b};
      }
      any = true;
      gap_before = false;
      ends.coronal = b;
    } else {
      gap_before = true;
    }
    if (b + 1 < rows) state = from[b][state];
  }
  // A short piece under the orifice, beyond a gap, is a restoration's foot rather than fill.
  if (ends.last_gap) {
    const auto [before, after] = *ends.last_gap;
    std::vector<double> seen;
    for (std::size_t b = after; b <= ends.coronal; ++b)
      if (!std::isnan(trace.share[b])) seen.push_back(trace.share[b]);
    const double shown = median(std::move(seen));
    const bool like_fill = shown > least_like && shown < most_like;
    const double piece_mm = (std::min(drawn_to, trace.s_px[ends.coronal]) - trace.s_px[after]) * mm_per_px;
    const bool ends_again = (trace.s_px.back() - trace.s_px[ends.coronal]) * mm_per_px >= seen_to_end_mm;
    const double least_mm = like_fill ? least_like_piece_mm : least_coronal_piece_mm;
    if (!(like_fill && ends_again) && piece_mm < least_mm) {
      ends.coronal = before;
      ends.last_gap.reset();
    }
  }
  ends.open = any && ends.coronal + 1 == rows;
  if (!any) ends.apical = rows;
  return ends;
}

}  // namespace

double Trace::radius_px(double s) const { return radius_at_px + radius_slope * s; }

SearchFound search_fill(const Strip& strip, const cv::Mat& mask, const cv::Mat& clipped, double mm_per_px,
                        double drawn_from, double drawn_to, const SearchSettings& settings) {
  SearchFound found;
  Blocks blocks = average_blocks(strip, mask, mm_per_px);
  const std::size_t rows = blocks.value.size();
  std::size_t good = 0;
  for (std::size_t b = 0; b < rows; ++b) {
    if (blocks.s_px[b] < drawn_from || blocks.s_px[b] > drawn_to) continue;
    good += static_cast<std::size_t>(blocks.usable[b][blocks.usable[b].size() / 2]);
  }
  if (good < 5) {
    found.why = NoTrace::off_film;
    return found;
  }
  double lowest = 0.0;
  double highest = 0.0;
  cv::minMaxLoc(strip.value, &lowest, &highest, nullptr, nullptr, strip.usable);
  if (!(highest > lowest)) return found;
  const double step = strip.grid.step_px;
  const double columns_per_mm = 1.0 / (mm_per_px * step);
  std::vector<Template> templates;
  for (int k = 0; k < radius_steps; ++k) {
    const double share = static_cast<double>(k) / (radius_steps - 1);
    const double r = least_radius_mm * std::pow(settings.greatest_radius_mm / least_radius_mm, share);
    templates.emplace_back(std::max(1.0, r * columns_per_mm), flank_mm * columns_per_mm);
  }
  const int middle = (strip.grid.columns - 1) / 2;
  std::vector<double> widest;  // empty: any
  if (settings.widths == SearchSettings::Widths::usual)
    for (const double s : blocks.s_px)
      widest.push_back((widest_at_apex_mm + widest_growth * std::max(0.0, s) * mm_per_px) * columns_per_mm);
  Ridge ridge = find_ridge(blocks, templates, middle, columns_per_mm, settings.hand_weight, widest);

  std::vector<bool> drawn(rows);
  for (std::size_t b = 0; b < rows; ++b)
    drawn[b] = blocks.s_px[b] >= drawn_from && blocks.s_px[b] <= drawn_to;
  const Run run = surest_run(ridge, drawn);
  if (!run.found || static_cast<double>(run.last - run.first + 1) * blocks.block_px * mm_per_px < 0.8)
    return found;
  double at_widest = 0.0;
  for (std::size_t b = run.first; b <= run.last && !widest.empty(); ++b)
    at_widest += ridge.radius[b] > nearly_widest * widest[b] ? 1.0 : 0.0;
  at_widest /= static_cast<double>(run.last - run.first + 1);
  const int group = static_cast<int>(std::lround(blocks.block_px / strip.grid.step_px));
  found.search = Search{std::move(blocks), middle_rows(clipped, group, static_cast<int>(rows)), std::move(ridge),
                        run.first,         run.last,    at_widest,                             drawn_to,
                        strip.grid.step_px, mm_per_px};
  return found;
}

std::optional<Trace> trace_fill(const Search& search, const std::optional<RadiusLine>& known, AlongFill contrast) {
  const Blocks& blocks = search.blocks;
  const Ridge& ridge = search.ridge;
  const std::size_t rows = blocks.value.size();
  const double step = search.step_px;
  const double mm_per_px = search.mm_per_px;
  const double columns_per_mm = 1.0 / (mm_per_px * step);
  const auto columns = static_cast<int>(blocks.value.front().size());
  const int middle = (columns - 1) / 2;
  Trace trace;
  const RadiusLine radius = known ? *known : fit_radius(search);
  trace.radius_at_px = radius.at_px;
  trace.radius_slope = radius.slope;
  std::vector<double> per_thickness, places;
  const double least = least_radius_mm / mm_per_px;
  const auto template_at = [&](double s) {
    return Template(std::clamp(trace.radius_px(s), least, widest_template_mm / mm_per_px) / step,
                    flank_mm * columns_per_mm);
  };
  std::vector<double> height(rows);
  std::vector<Level> levels(rows);
  std::vector<bool> seen(rows);
  std::vector<bool> under_another(rows);
  std::vector<bool> clipped(rows);
  for (std::size_t b = 0; b < rows; ++b) {
    const Template shape = template_at(blocks.s_px[b]);
    const double a = shape.amplitude(blocks, b, middle + static_cast<int>(std::lround(ridge.offset[b])));
    seen[b] = !std::isnan(a);
    const int place = middle + static_cast<int>(std::lround(ridge.offset[b]));
    for (int j = std::max(0, place - shape.half());
         j <= std::min(columns - 1, place + shape.half()); ++j)
      if (blocks.foreign[b][static_cast<std::size_t>(j)] != 0) under_another[b] = true;
    height[b] = seen[b] ? a : 0.0;
    clipped[b] = clipped_at(search.clipped, b, place, shape.radius);
    levels[b] = level_at(blocks, b, place, shape.radius, flank_mm * columns_per_mm);
    if (seen[b] && b >= search.first && b <= search.last) {
      per_thickness.push_back(height[b] / (2.0 * shape.radius * step));
      places.push_back(blocks.s_px[b]);
    }
  }
  trace.contrast = median(per_thickness);
  if (trace.contrast <= 0.0) return std::nullopt;
  const Drift drift = contrast == AlongFill::drifts ? drift_of(places, per_thickness, trace.contrast) : Drift{};

  // Noise of the share, from the same template beside the fill.
  for (std::size_t b = 0; b < rows; ++b) {
    const Template shape = template_at(blocks.s_px[b]);
    std::vector<double> beside;
    const int centre = middle + static_cast<int>(std::lround(ridge.offset[b]));
    const int near = static_cast<int>(std::ceil(2.0 * shape.radius)) + shape.half() / 2;
    const std::size_t low = b >= 5 ? b - 5 : 0;
    const std::size_t high = std::min(rows - 1, b + 5);
    for (std::size_t k = low; k <= high; k += 1) {
      for (int away = near; away <= near + static_cast<int>(shape.radius) + 4; away += 3) {
        for (const int side : {-1, 1}) {
          const double a = shape.amplitude(blocks, k, centre + side * away);
          if (!std::isnan(a)) beside.push_back(a);
        }
      }
    }
    const double usual = trace.contrast * 2.0 * shape.radius * step;
    const double noise = beside.size() > 8 ? robust_deviation(beside) / usual : unknown_noise;
    const double drifted = drift.at(blocks.s_px[b]);
    // Fill that shows less than usual still stands out: bone's texture is as faint.
    const double share_of_usual = std::max(drifted, std::min(1.0, surely_faint * noise));
    trace.share.push_back(seen[b] ? height[b] / (usual * share_of_usual) : std::nan(""));
    trace.share_noise.push_back(noise / share_of_usual);
    trace.s_px.push_back(blocks.s_px[b]);
    trace.offset_px.push_back(ridge.offset[b] * step);
  }
  Ends ends = walk(trace, under_another, clipped, search.first, blocks.block_px, mm_per_px, search.drawn_to_px);
  if (ends.last_gap &&
      is_restoration(trace, levels, under_another, *ends.last_gap, ends.apical, ends.coronal, mm_per_px)) {
    ends.coronal = ends.last_gap->before;
    ends.open = false;
  }
  if (ends.apical >= rows || ends.coronal <= ends.apical) return std::nullopt;
  const auto runs_off_film = [&](std::size_t b) { return !seen[b] && !under_another[b]; };
  const std::size_t last = ends.coronal;
  while (ends.coronal > ends.apical && runs_off_film(ends.coronal)) --ends.coronal;
  if (ends.coronal < last && (trace.s_px[ends.coronal] - trace.s_px[ends.apical]) * mm_per_px < least_on_film_mm)
    return std::nullopt;
  for (std::size_t b = ends.coronal + 1; b < std::min(rows, ends.coronal + 1 + blocks_to_edge); ++b)
    ends.open = ends.open || runs_off_film(b);
  trace.end_px = trace.s_px[ends.apical] - 0.5 * blocks.block_px;
  trace.coronal_px = trace.s_px[ends.coronal] + 0.5 * blocks.block_px;
  trace.reaches_coronal_end = ends.open;
  const auto mostly_clipped = [&](std::size_t from, std::size_t to) {
    std::size_t count = 0;
    for (std::size_t b = from; b < to; ++b) count += clipped[b] ? 1U : 0U;
    return 2 * count > to - from;
  };
  // A fill that is brought to its end by what is brighter, as a restoration, shows it.
  const std::size_t after = ends.coronal + 1;
  trace.coronal_end_clipped = mostly_clipped(after - std::min(after, coronal_blocks), after) &&
                              mostly_clipped(after, std::min(rows, after + coronal_blocks));
  return trace;
}

}  // namespace canalrule
