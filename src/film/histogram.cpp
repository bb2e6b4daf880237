#include "histogram.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>

#include <canalrule/base/side_by_side.hpp>

namespace canalrule {

namespace {

constexpr int bins = 65536;
/// Bands of a film that are counted side by side, half a megabyte each. Chosen here.
constexpr std::size_t most_bands = 4;

// A pile-up, all chosen here with the tests of tests/unit/film:
/// is this many times the fullest of its neighbours (the comb that stretching leaves has a ratio of 2),
constexpr double pile_up_ratio = 3.0;
/// which are so many levels that occur, on its inner side,
constexpr std::ptrdiff_t neighbours = 16;
/// holds at least so many pixels, and so great a share of the film,
constexpr double least_pixels = 50.0;
constexpr double least_share = 2e-5;
/// has no more than this share of the film beyond it,
constexpr double most_beyond = 0.005;
/// and, unless it is an end of the scale, holds less than this share: a flat picture isn't clipped.
constexpr double most_at_inner_level = 0.5;

struct GreyRange {
  double lowest = 0.0;
  double highest = 0.0;
};

GreyRange grey_range(const Film& film) {
  if (film.highest_grey > film.lowest_grey) return {film.lowest_grey, film.highest_grey};
  GreyRange range;
  cv::minMaxLoc(film.grey, &range.lowest, &range.highest);
  return range;
}

/// The pixels of a grey level, and one of them.
struct Bin {
  std::int32_t count = 0;
  float example = 0.0F;
};

/// All levels of rows [from, to).
std::vector<Bin> count_rows(const Film& film, const GreyRange& range, int from, int to) {
  const double span = range.highest - range.lowest;
  const float scale = span > 0.0 ? static_cast<float>((bins - 1) / span) : 0.0F;
  const auto origin = static_cast<float>(range.lowest);
  std::vector<Bin> counted(bins);
  const auto columns = static_cast<std::size_t>(film.grey.cols);
  std::vector<std::int32_t> places(columns);
  for (int row = from; row < to; ++row) {
    const float* grey = film.grey.ptr<float>(row);
    for (std::size_t column = 0; column < columns; ++column)
      places[column] = std::clamp(static_cast<std::int32_t>((grey[column] - origin) * scale + 0.5F), 0, bins - 1);
    const std::uint8_t* unusable = film.unusable.empty() ? nullptr : film.unusable.ptr<std::uint8_t>(row);
    const bool whole = unusable == nullptr || std::memchr(unusable, 255, columns) == nullptr;
    for (std::size_t column = 0; column < columns; ++column) {
      if (!whole && unusable[column] != 0) continue;
      Bin& bin = counted[static_cast<std::size_t>(places[column])];
      ++bin.count;
      bin.example = grey[column];
    }
  }
  return counted;
}

/// Finds the pile-up nearest the begin of levels given from the end of the scale inwards.
template <class Iterator>
std::optional<double> pile_up(Iterator begin, Iterator end, double end_of_scale, double pixels) {
  double beyond = 0.0;
  double fullest_beyond = 0.0;
  for (Iterator level = begin; level != end && beyond <= most_beyond * pixels; ++level) {
    const auto count = static_cast<double>(level->count);
    double fullest = fullest_beyond;
    const Iterator last = std::next(level, std::min(neighbours + 1, std::distance(level, end)));
    for (Iterator inner = std::next(level); inner != last; ++inner)
      fullest = std::max(fullest, static_cast<double>(inner->count));
    const bool stands_out =
        count > pile_up_ratio * fullest && count >= std::max(least_pixels, least_share * pixels);
    const bool may = count < most_at_inner_level * pixels || level->grey == end_of_scale;
    if (stands_out && may) return level->grey;
    beyond += count;
    fullest_beyond = std::max(fullest_beyond, count);
  }
  return std::nullopt;
}

}  // namespace

std::vector<Level> occurring_levels(const Film& film, std::size_t threads) {
  const GreyRange range = grey_range(film);
  const std::size_t bands = std::clamp<std::size_t>(threads, 1, most_bands);
  std::vector<std::vector<Bin>> counted(bands);
  bands_side_by_side(film.grey.rows, bands, threads, [&](const RowBand& band) {
    counted[band.number] = count_rows(film, range, band.from, band.to);
  });
  std::vector<Level> levels;
  for (std::size_t level = 0; level < bins; ++level) {
    Level all;
    for (const std::vector<Bin>& band : counted) {
      if (band[level].count == 0) continue;
      all.grey = static_cast<double>(band[level].example);
      all.count += band[level].count;
    }
    if (all.count > 0) levels.push_back(all);
  }
  return levels;
}

ClippedEnds clipped_ends(const std::vector<Level>& levels, const Film& film) {
  const GreyRange range = grey_range(film);
  double pixels = 0.0;
  for (const Level& level : levels) pixels += static_cast<double>(level.count);
  return {pile_up(levels.begin(), levels.end(), range.lowest, pixels),
          pile_up(levels.rbegin(), levels.rend(), range.highest, pixels)};
}

}  // namespace canalrule
