#include "known_film.hpp"

#include <algorithm>
#include <anatomy.hpp>
#include <canal_body.hpp>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <texture.hpp>
#include <truth.hpp>

namespace canalrule_benchmark {

using namespace canalrule;
using namespace canalrule::phantom;

namespace {

const Curve& curve_of(const Description& d) {
  const Canal& canal = d.canals.front();
  return canal.curve ? *canal.curve : d.tooth.roots.front().curve;
}

CanalBody body_of(const Description& d, const Projection& projection, const ToothFrame& frame) {
  return build_canal(d.canals.front(), curve_of(d), frame, projection, d.beam.spectrum, d.seed);
}

Description with_opacity(Description d, double opacity) {
  d.canals.front().fill->opacity = opacity;
  return d;
}

/// Power of the bone's pattern at each frequency of the grid, behind the sensor's blur: the mean of the
/// periodograms of patterns drawn apart from the film's own, under Hann's window.
cv::Mat pattern_power(const Description& d, cv::Size grid, double mm_per_px, int fineness) {
  constexpr int times_drawn = 6;
  const int columns = fineness * std::max(grid.width, d.detector.columns),
            rows = fineness * std::max(grid.height, d.detector.rows);
  cv::Mat hann;
  cv::createHanningWindow(hann, grid, CV_64F);
  const double energy_of_window = hann.dot(hann);
  cv::Mat sum = cv::Mat::zeros(grid, CV_64F);
  for (int k = 0; k < times_drawn; ++k) {
    std::vector<float> values =
        texture(columns, rows, {mm_per_px / fineness, d.jaw.texture_exponent, d.jaw.strands, d.jaw.trabecula_mm},
                0x51ed270bULL + static_cast<std::uint64_t>(k));
    cv::Mat cut, transform, parts[2];
    const cv::Mat drawn_on(rows, columns, CV_32F, values.data());
    cv::resize(drawn_on(cv::Rect({0, 0}, cv::Size(fineness * grid.width, fineness * grid.height))), cut, grid, 0.0, 0.0, cv::INTER_AREA);
    cut.convertTo(cut, CV_64F);
    cv::dft(cut.mul(hann), transform, cv::DFT_COMPLEX_OUTPUT);
    cv::split(transform, parts);
    sum += (parts[0].mul(parts[0]) + parts[1].mul(parts[1])) / energy_of_window;
  }
  sum /= times_drawn;
  // Upside down the pattern is as likely as upright.
  cv::Mat power(grid, CV_64F);
  const double blur_px = d.detector.blur_mm / d.detector.pixel_mm;
  for (int v = 0; v < grid.height; ++v)
    for (int u = 0; u < grid.width; ++u) {
      const int mirrored = (grid.height - v) % grid.height;
      const double x = 2.0 * std::numbers::pi * std::min(u, grid.width - u) / grid.width;
      const double y = 2.0 * std::numbers::pi * std::min(v, grid.height - v) / grid.height;
      power.at<double>(v, u) = 0.5 * (sum.at<double>(v, u) + sum.at<double>(mirrored, u)) *
                               std::exp(-blur_px * blur_px * (x * x + y * y));
    }
  return power;
}

double cubic_spline(double x) {
  const double t = std::abs(x);
  if (t >= 2.0) return 0.0;
  return t < 1.0 ? (4.0 - 6.0 * t * t + 3.0 * t * t * t) / 6.0 : std::pow(2.0 - t, 3) / 6.0;
}

}  // namespace

KnownFilm::KnownFilm(const Description& description, int pattern_fineness)
    : description_(description), pattern_fineness_(pattern_fineness) {
  ensure(description.canals.size() == 1 && description.canals.front().fill.has_value(), "one filled canal");
  ensure(description.beam.spectrum.size() == 1, "one energy");
  Description plain = description;
  plain.jaw.texture = 0.0;
  const Projection projection(plain.beam, plain.detector);
  const ToothFrame frame = tooth_frame(plain.tooth, plain.beam, plain.detector);
  mm_per_px_ = true_scale(frame, projection, plain.beam).across;
  const Anatomy a = build_anatomy(plain, frame, projection);
  const double e = plain.beam.spectrum.front().energy_kev;
  const double spongy = linear_attenuation(Material::trabecular_bone, e);
  const double cortical = linear_attenuation(Material::cortical_bone, e);
  background_ = pattern_mu_ = Plane(plain.detector.columns, plain.detector.rows, 0.0);
  for (std::size_t i = 0; i < background_.value.size(); ++i) {
    background_.value[i] =
        std::exp(-(spongy * a.trabecular.value[i] + cortical * a.cortical.value[i] +
                   linear_attenuation(Material::dentine, e) * a.dentine.value[i] +
                   linear_attenuation(Material::enamel, e) * a.enamel.value[i] +
                   linear_attenuation(Material::water, e) * a.soft.value[i] +
                   linear_attenuation(a.restoration_material, e) * a.restoration.value[i]));
    pattern_mu_.value[i] = description.jaw.texture * std::hypot(spongy * a.trabecular.value[i],
                                                                plate_texture_share * cortical * a.cortical.value[i]);
  }
  Plane with_scatter = background_;
  add_scatter(with_scatter, plain.beam.scatter_to_primary, plain.detector.pixel_mm);
  scatter_ = Plane(plain.detector.columns, plain.detector.rows, 0.0);
  for (std::size_t i = 0; i < scatter_.value.size(); ++i)
    scatter_.value[i] = with_scatter.value[i] - background_.value[i];
  uneven_ = description_.canals.front().fill->uneven;
  description_.canals.front().fill->uneven = 0.0;
}

KnownFilm::Window KnownFilm::window(double from_mm, double to_mm, double half_mm) const {
  const Projection projection(description_.beam, description_.detector);
  const ToothFrame frame = tooth_frame(description_.tooth, description_.beam, description_.detector);
  const CanalBody body = body_of(description_, projection, frame);
  double left = 1e9, top = 1e9, right = -1e9, bottom = -1e9;
  for (double z = from_mm; z <= to_mm; z += 0.05) {
    const Point p = body.line.film_at(z);
    const double reach = (outline_radius(body.fill, z) + half_mm) / mm_per_px_;
    left = std::min(left, p.x - reach);
    right = std::max(right, p.x + reach);
    top = std::min(top, p.y - reach);
    bottom = std::max(bottom, p.y + reach);
  }
  Window w;
  w.where = cv::Rect(cv::Point(static_cast<int>(left), static_cast<int>(top)),
                     cv::Point(static_cast<int>(right) + 1, static_cast<int>(bottom) + 1)) &
            cv::Rect(0, 0, background_.columns, background_.rows);
  w.usable = cv::Mat::zeros(w.where.size(), CV_8U);
  w.along = cv::Mat(w.where.size(), CV_64F);
  w.aside = cv::Mat(w.where.size(), CV_64F);
  Nearest nearest(body.line);
  for (int r = 0; r < w.where.height; ++r)
    for (int c = 0; c < w.where.width; ++c) {
      const auto found = nearest.find({w.where.x + c + 0.5, w.where.y + r + 0.5});
      const double off = found.off_px * mm_per_px_;
      w.along.at<double>(r, c) = found.arc_mm;
      w.aside.at<double>(r, c) = off;
      const bool near = std::abs(off) <= outline_radius(body.fill, found.arc_mm) + half_mm;
      if (found.inside && near && found.arc_mm >= from_mm && found.arc_mm <= to_mm)
        w.usable.at<std::uint8_t>(r, c) = 255;
    }
  return w;
}

cv::Mat KnownFilm::attenuation(const Description& changed, const Window& window) const {
  const Projection projection(changed.beam, changed.detector);
  const ToothFrame frame = tooth_frame(changed.tooth, changed.beam, changed.detector);
  const CanalBody body = body_of(changed, projection, frame);
  const double blur_px = changed.detector.blur_mm / changed.detector.pixel_mm;
  const int margin = static_cast<int>(std::ceil(5.0 * blur_px)) + 1;
  Plane part(window.where.width + 2 * margin, window.where.height + 2 * margin, 0.0);
  Nearest nearest(body.line);
  constexpr int fine = 6;  // places along and across in each pixel
  for (int r = 0; r < part.rows; ++r)
    for (int c = 0; c < part.columns; ++c) {
      const int x = std::clamp(window.where.x + c - margin, 0, background_.columns - 1);
      const int y = std::clamp(window.where.y + r - margin, 0, background_.rows - 1);
      const auto middle = nearest.find({x + 0.5, y + 0.5});
      double passed = 1.0;
      if (middle.inside &&
          std::abs(middle.off_px) < body.reach_mm[middle.index] / mm_per_px_ + 1.5) {
        passed = 0.0;
        for (int v = 0; v < fine; ++v)
          for (int u = 0; u < fine; ++u) {
            const Point p{x + (u + 0.5) / fine, y + (v + 0.5) / fine};
            const auto found = nearest.find(p);
            passed += std::exp(-excess_along(body, ray_past(body.line, found, p, projection))[0]);
          }
        passed /= fine * fine;
      }
      part.at(c, r) = background_.at(x, y) * passed;
    }
  blur(part, blur_px);
  cv::Mat out(window.where.size(), CV_64F);
  for (int r = 0; r < out.rows; ++r)
    for (int c = 0; c < out.cols; ++c)
      out.at<double>(r, c) = -std::log(part.at(c + margin, r + margin) +
                                       scatter_.at(window.where.x + c, window.where.y + r));
  return out;
}

ColouredNoise KnownFilm::noise(const Window& window) const {
  const Beam& beam = description_.beam;
  const Detector& detector = description_.detector;
  const cv::Mat level = attenuation(description_, window);
  NoiseKind kind;
  kind.usable = window.usable;
  kind.correlation_px = detector.noise_correlation_px;
  kind.sd = cv::Mat(level.size(), CV_64F);
  const double quantum = beam.photons_per_pixel > 0.0 ? 1.0 / beam.photons_per_pixel : 0.0;
  for (int r = 0; r < level.rows; ++r)
    for (int c = 0; c < level.cols; ++c) {
      const double light = std::exp(-level.at<double>(r, c));
      kind.sd.at<double>(r, c) = std::sqrt(light * quantum + std::pow(detector.electronic_noise, 2)) / light;
    }
  if (description_.jaw.texture > 0.0) {
    kind.pattern_sd = cv::Mat(level.size(), CV_64F);
    for (int r = 0; r < level.rows; ++r)
      for (int c = 0; c < level.cols; ++c) {
        const int x = window.where.x + c, y = window.where.y + r;
        const double primary = 1.0 - scatter_.at(x, y) / std::exp(-level.at<double>(r, c));
        kind.pattern_sd.at<double>(r, c) = primary * pattern_mu_.at(x, y);
      }
    kind.pattern_power = pattern_power(description_, padded_size(level.size()), mm_per_px_, pattern_fineness_);
  }
  if (uneven_ > 0.0) {
    constexpr double grain_mm = 0.3, mean_square = 151.0 / 315.0;  // of a cubic spline's sum over a lattice
    // What the film changes by as the fill's excess over dentine does, which is not the excess itself where light
    // is scattered or the fill is thick.
    constexpr double step = 0.02;
    const Fill& fill = *description_.canals.front().fill;
    const double energy = beam.spectrum.front().energy_kev;
    const double excess = fill.opacity - linear_attenuation(Material::dentine, energy) /
                                             linear_attenuation(fill.material, energy);
    const cv::Mat per_share = (attenuation(with_opacity(description_, fill.opacity + step), window) -
                               attenuation(with_opacity(description_, fill.opacity - step), window)) *
                              (excess / (2.0 * step));
    double from = 0.0, to = 0.0;
    cv::minMaxLoc(window.along, &from, &to, nullptr, nullptr, window.usable);
    // The phantom's grains lie on the canal's arc length in whole steps from 8 mm beyond the apex.
    constexpr double origin_mm = -8.0;
    from = origin_mm + grain_mm * (std::floor((from - origin_mm) / grain_mm) - 1.0);
    for (double at = from; at <= to + 2.0 * grain_mm; at += grain_mm) {
      cv::Mat one = cv::Mat::zeros(level.size(), CV_64F);
      for (int r = 0; r < level.rows; ++r)
        for (int c = 0; c < level.cols; ++c)
          if (window.usable.at<std::uint8_t>(r, c) != 0)
            one.at<double>(r, c) = uneven_ / std::sqrt(mean_square) * per_share.at<double>(r, c) *
                                   cubic_spline((window.along.at<double>(r, c) - at) / grain_mm);
      if (cv::norm(one) > 0.0) kind.uneven.push_back(one);
    }
  }
  return ColouredNoise(std::move(kind));
}

cv::Mat KnownFilm::drawn(const Description& description, const cv::Rect& where) {
  // Grey that is the attenuation itself, in steps of 0.00015.
  Description d = description;
  d.detector.bits = 16;
  d.detector.response = Response::log;
  d.detector.radiopaque = Radiopaque::bright;
  d.detector.window_low = -0.5;
  d.detector.window_high = 9.5;
  d.detector.sharpen_amount = d.detector.jpeg_coarseness = d.detector.border_mm = 0.0;
  cv::Mat out;
  simulate(d).grey(where).convertTo(out, CV_64F, 10.0 / 65535.0, -0.5);
  return out;
}

}  // namespace canalrule_benchmark
