// What bins of a fill say of a void: the texture found in drawn noise of a known kind, the whitened series against
// the inverse of the whole covariance, and a void of known depth read back.
#include "void_evidence.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <opencv2/core.hpp>
#include <random>

#include "void_match.hpp"

using namespace canalrule;

namespace {

constexpr double row_mm = 0.05, blur_mm = 0.04, radius_mm = 0.4;

/// A cylinder in bins 0.15 mm wide, with nothing missing.
FillBins cylinder(std::size_t rows) {
  FillBins bins;
  bins.row_mm = row_mm;
  for (std::size_t i = 0; i < rows; ++i) {
    BinRow row;
    row.s_px = static_cast<double>(i);
    row.serves.fill(true);
    for (std::size_t k = 0; k < bins_across; ++k) {
      const double x = 0.15 * (static_cast<double>(k) - 5.0);
      const double chord = 2.0 * std::sqrt(std::max(0.0, radius_mm * radius_mm - x * x));
      row.place[k] = x;
      row.width[k] = 0.15;
      row.noise[k] = 0.2;
      for (Across& taken : row.taken) taken[k] = chord;
      row.by_radius[k] = chord > 0.0 ? 4.0 * radius_mm / chord : 0.0;
    }
    bins.rows.push_back(row);
  }
  return bins;
}

/// The covariance of all bins of all rows, row by row.
cv::Mat whole_covariance(const FillBins& bins, const Texture& texture) {
  const RowCovariance covariance(bins, texture);
  const int n = static_cast<int>(bins_across), rows = static_cast<int>(bins.rows.size());
  cv::Mat whole(rows * n, rows * n, CV_64F);
  for (int a = 0; a < rows; ++a)
    for (int b = 0; b < rows; ++b) {
      const Square block = covariance.between(static_cast<std::size_t>(a), static_cast<std::size_t>(b));
      for (int i = 0; i < n; ++i)
        for (int j = 0; j < n; ++j)
          whole.at<double>(a * n + i, b * n + j) = block[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)];
    }
  return whole;
}

/// What is missing drawn as noise of that covariance.
void draw(FillBins& bins, const Texture& texture, unsigned seed) {
  cv::Mat values, vectors;
  REQUIRE(cv::eigen(whole_covariance(bins, texture), values, vectors));
  std::mt19937 engine(seed);
  std::normal_distribution<double> normal;
  cv::Mat drawn = cv::Mat::zeros(values.rows, 1, CV_64F);
  for (int i = 0; i < values.rows; ++i)
    drawn += vectors.row(i).t() * (normal(engine) * std::sqrt(std::max(0.0, values.at<double>(i))));
  for (int i = 0; i < drawn.rows; ++i)
    bins.rows[static_cast<std::size_t>(i) / bins_across].missing[static_cast<std::size_t>(i) % bins_across] =
        drawn.at<double>(i);
}

Box whole_box(std::size_t rows) { return {0.0, static_cast<double>(rows), 0, std::vector<double>(rows, 1.0)}; }

}  // namespace

TEST_CASE("the texture is found in noise of a known kind") {
  const Texture made{0.02 * 0.02, 0.008 * 0.008, 0.015 * 0.015, blur_mm};
  double pattern = 0.0, noise = 0.0;
  constexpr int films = 6;
  for (unsigned film = 0; film < films; ++film) {
    FillBins bins = cylinder(60);
    draw(bins, made, film + 1);
    const Texture found = find_texture(bins, blur_mm);
    pattern += found.pattern / films;
    noise += found.noise / films;
  }
  // Medians of some sixty differences are good to a tenth; radius, contrast and unevenness are in them besides.
  CHECK(pattern == doctest::Approx(made.pattern).epsilon(0.35));
  CHECK(noise == doctest::Approx(made.noise).epsilon(0.35));
}

TEST_CASE("a fill's unevenness is told from bone's pattern and noise") {
  double even = 0.0, uneven = 0.0;
  constexpr int films = 8;
  for (unsigned film = 0; film < films; ++film) {
    for (const double made : {0.0, 0.04}) {
      FillBins bins = cylinder(120);
      draw(bins, {0.006 * 0.006, 0.006 * 0.006, made * made, blur_mm}, film + 1);
      (made > 0.0 ? uneven : even) += std::sqrt(find_texture(bins, blur_mm).uneven) / films;
    }
  }
  CHECK(uneven == doctest::Approx(0.04).epsilon(0.3));
  CHECK(even < 0.012);
}

TEST_CASE("rows that know all before them give what the whole covariance's inverse gives") {
  const Texture texture{0.02 * 0.02, 0.008 * 0.008, 0.015 * 0.015, blur_mm};
  // Three rows serve, as far apart as each of the lags that has its double among them.
  for (const std::size_t apart : {1U, 2U, 4U, 8U}) {
    const std::size_t rows = 2 * apart + 1;
    FillBins bins = cylinder(rows);
    for (std::size_t i = 0; i < rows; ++i)
      if (i % apart != 0) bins.rows[i].serves.fill(false);
    for (std::size_t k : {0U, 10U}) bins.rows[apart].serves[k] = false;
    draw(bins, texture, 5);
    const Match got = match(VoidEvidence(bins, texture).of(0), whole_box(rows));

    cv::Mat shown(static_cast<int>(rows * bins_across), 1, CV_64F), missing = shown.clone();
    for (int i = 0; i < shown.rows; ++i) {
      const BinRow& row = bins.rows[static_cast<std::size_t>(i) / bins_across];
      const std::size_t k = static_cast<std::size_t>(i) % bins_across;
      shown.at<double>(i) = row.serves[k] ? row.taken[0][k] : 0.0;
      missing.at<double>(i) = row.serves[k] ? row.missing[k] : 0.0;
    }
    const cv::Mat inverse = whole_covariance(bins, texture).inv(cv::DECOMP_SVD);
    // What the three rows vary by is seen at each, and isn't quite alike.
    CHECK(got.amplitude ==
          doctest::Approx(cv::Mat(inverse * missing).dot(shown) / cv::Mat(inverse * shown).dot(shown)).epsilon(3e-5));
  }
}

TEST_CASE("a void is surer where less changes along the fill") {
  constexpr std::size_t rows = 120, length = 8;
  const Texture texture{0.01 * 0.01, 0.004 * 0.004, 0.015 * 0.015, blur_mm};
  FillBins bins = cylinder(rows);
  draw(bins, texture, 6);
  constexpr double quieter = 0.5;
  for (std::size_t i = 0; i < rows / 2; ++i)
    for (double& m : bins.rows[i].missing) m *= quieter;
  const VoidEvidence evidence(bins, texture);
  const auto u_at = [&](std::size_t from) {
    return match(evidence.of(0), Box{0.0, 0.0, from, std::vector<double>(length, 1.0)}).u_amplitude;
  };
  // Some of the whole fill's values are held against those near.
  const double ratio = u_at(rows / 4) / u_at(3 * rows / 4);
  CHECK(ratio > quieter);
  CHECK(ratio < 0.8);
}

TEST_CASE("edges and domes show as a sum over the film's blur and halo gives") {
  constexpr double blur = 1.7, halo = 0.8, halo_px = 5.0, half = 6.0, step = 0.01;
  const BlurredEdge edge(blur, halo_px);
  const auto kernel = [](double x, double sd) { return std::exp(-0.5 * x * x / (sd * sd)) / (sd * 2.50662827463); };
  for (const double away : {0.0, 2.0, 5.5, 9.0, 14.0}) {
    double dome = 0.0, box = 0.0;
    for (double t = -half + 0.5 * step; t < half; t += step) {
      const double w = step * ((1.0 + halo) * kernel(away - t, blur) - halo * kernel(away - t, halo_px));
      dome += w * (1.0 - t * t / (half * half));
      box += w;
    }
    CHECK(std::fabs(edge.dome(away, half, halo) - dome) < 1e-4);
    CHECK(std::fabs(edge.at(away + half, halo) - edge.at(away - half, halo) - box) < 1e-4);
  }
}

TEST_CASE("a void's depth is read back, and nothing is left when it is taken out") {
  constexpr std::size_t rows = 60, from = 25, length = 8;
  const Texture texture{0.01 * 0.01, 0.004 * 0.004, 0.015 * 0.015, blur_mm};
  FillBins bins = cylinder(rows);
  draw(bins, texture, 3);
  constexpr double depth = 0.4;
  for (std::size_t i = from; i < from + length; ++i)
    for (std::size_t k = 0; k < bins_across; ++k) bins.rows[i].missing[k] += depth * bins.rows[i].taken[0][k];
  VoidEvidence evidence(bins, texture);
  Box box{0.0, 0.0, from, std::vector<double>(length, 1.0)};
  const Match found = match(evidence.of(0), box);
  CHECK(std::fabs(found.amplitude - depth) < 3.0 * found.u_amplitude);
  CHECK(found.z > 8.0);
  CHECK(plain_amplitude(evidence.of(0), box) == doctest::Approx(depth).epsilon(0.1));
  const double unruly = evidence.unruly(from - 4, from + length + 4);
  evidence.take_out(0, from, std::vector<double>(length, found.amplitude));
  CHECK(std::fabs(match(evidence.of(0), box).amplitude) < 1e-9);
  CHECK(evidence.unruly(from - 4, from + length + 4) < unruly);
}

TEST_CASE("a row that doesn't serve says nothing") {
  FillBins bins = cylinder(30);
  const Texture texture{0.01 * 0.01, 0.004 * 0.004, 0.015 * 0.015, blur_mm};
  draw(bins, texture, 4);
  for (std::size_t i = 10; i < 20; ++i) {
    bins.rows[i].serves.fill(false);
    bins.rows[i].missing.fill(100.0);
  }
  const VoidEvidence evidence(bins, texture);
  CHECK_FALSE(evidence.serves(15));
  CHECK(match(evidence.of(0), Box{0.0, 0.0, 12, std::vector<double>(6, 1.0)}).z == 0.0);
  CHECK(std::fabs(match(evidence.of(0), Box{0.0, 0.0, 20, std::vector<double>(6, 1.0)}).z) < 5.0);
}
