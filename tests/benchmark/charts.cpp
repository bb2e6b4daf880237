#include "charts.hpp"

#include <png.h>

#include <algorithm>
#include <array>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <opencv2/imgproc.hpp>

namespace canalrule_benchmark {

namespace {

constexpr double width = 420, height = 240, left = 56, right = 12, top = 30, bottom = 44;
constexpr std::array colours{"#1b6ca8", "#c1440e", "#3a7d44", "#7b4b94"};

std::string shown(const char* format, double a, double b = 0, double c = 0, double d = 0) {
  std::array<char, 256> text{};
  std::snprintf(text.data(), text.size(), format, a, b, c, d);
  return text.data();
}

std::string label(double x, double y, const char* anchor, const std::string& text) {
  return shown("<text x=\"%.1f\" y=\"%.1f\" ", x, y) + "text-anchor=\"" + anchor + "\">" + text + "</text>\n";
}

std::string line(double x0, double y0, double x1, double y1, const char* colour) {
  return shown("<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" ", x0, y0, x1, y1) + "stroke=\"" + colour + "\"/>\n";
}

std::string frame(const std::string& title, const std::string& along) {
  return shown("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.0f\" height=\"%.0f\" ", width, height) +
         shown("viewBox=\"0 0 %.0f %.0f\" ", width, height) +
         "font-family=\"DejaVu Sans, sans-serif\" font-size=\"11\">\n" +
         shown("<rect width=\"%.0f\" height=\"%.0f\" fill=\"#ffffff\"/>\n", width, height) +
         label(left, 18, "start", title) + label(0.5 * (left + width - right), height - 8, "middle", along) +
         line(left, height - bottom, width - right, height - bottom, "#444444") +
         line(left, top, left, height - bottom, "#444444");
}

/// The least of 1, 2 or 5 times a power of ten that is not below the value.
double round_up(double value) {
  if (!(value > 0.0)) return 1.0;
  const double power = std::pow(10.0, std::floor(std::log10(value)));
  for (const double step : {1.0, 2.0, 5.0})
    if (step * power >= value * (1.0 - 1e-9)) return step * power;
  return 10.0 * power;
}

double y_of(double value, double most) { return height - bottom - (height - bottom - top) * value / most; }

std::string y_axis(double most) {
  std::string out;
  for (const double share : {0.0, 0.5, 1.0}) {
    out += line(left - 4, y_of(share * most, most), left, y_of(share * most, most), "#444444");
    out += label(left - 7, y_of(share * most, most) + 4, "end", shown("%.4g", share * most));
  }
  return out;
}

}  // namespace

std::string line_chart(const std::string& title, const std::string& along, const std::vector<std::string>& labels,
                       const std::vector<Series>& series) {
  double most = 0.0;
  for (const Series& s : series)
    for (const double v : s.values)
      if (!std::isnan(v)) most = std::max(most, v);
  most = round_up(most);
  std::string out = frame(title, along) + y_axis(most);
  const double n = static_cast<double>(std::max<std::size_t>(1, labels.size()));
  const auto x_of = [&](std::size_t i) {
    return left + (width - right - left) * (static_cast<double>(i) + 0.5) / n;
  };
  for (std::size_t i = 0; i < labels.size(); ++i) out += label(x_of(i), height - bottom + 15, "middle", labels[i]);
  for (std::size_t k = 0; k < series.size(); ++k) {
    const std::string colour = colours[k % colours.size()];
    std::string points, dots;
    for (std::size_t i = 0; i < series[k].values.size(); ++i) {
      const double v = series[k].values[i];
      if (std::isnan(v)) continue;
      points += shown("%.1f,%.1f ", x_of(i), y_of(v, most));
      dots += shown("<circle cx=\"%.1f\" cy=\"%.1f\" r=\"2.5\" ", x_of(i), y_of(v, most)) + "fill=\"" + colour + "\"/>\n";
    }
    out += "<polyline fill=\"none\" stroke=\"" + colour + "\" stroke-width=\"1.5\" points=\"" + points + "\"/>\n" + dots;
    out += "<g fill=\"" + colour + "\">" +
           label(width - right, top - 16.0 + 12.0 * static_cast<double>(k), "end", series[k].name) + "</g>\n";
  }
  return out + "</svg>\n";
}

std::string histogram(const std::string& title, const std::string& along, const std::vector<double>& values,
                      double limit, Over over) {
  constexpr int bins = 32;
  std::array<double, bins> share{};
  for (const double v : values) {
    const int bin = std::clamp(static_cast<int>(std::floor((v / limit + 1.0) * 0.5 * bins)), 0, bins - 1);
    share[static_cast<std::size_t>(bin)] += 100.0 / static_cast<double>(values.size());
  }
  const double most = round_up(*std::max_element(share.begin(), share.end()));
  std::string out = frame(title, along) + y_axis(most) + label(left - 40, top - 6, "start", "%");
  const double span = width - right - left;
  for (int i = 0; i < bins; ++i) {
    const double x = left + span * i / bins, y = y_of(share[static_cast<std::size_t>(i)], most);
    out += shown("<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" ", x, y, span / bins - 1.0,
                 height - bottom - y) +
           "fill=\"#8fb4d1\"/>\n";
  }
  for (const double at : {-1.0, -0.5, 0.0, 0.5, 1.0})
    out += label(left + span * 0.5 * (at + 1.0), height - bottom + 15, "middle", shown("%.3g", at * limit));
  if (over == Over::normal) {
    std::string points;
    for (int i = 0; i <= 80; ++i) {
      const double v = limit * (i / 40.0 - 1.0);
      const double density = std::exp(-0.5 * v * v) / std::sqrt(2.0 * std::numbers::pi) * 100.0 * 2.0 * limit / bins;
      points += shown("%.1f,%.1f ", left + span * i / 80.0, y_of(std::min(density, most), most));
    }
    out += std::string("<polyline fill=\"none\" stroke=\"#c1440e\" points=\"") + points + "\"/>\n";
  }
  return out + "</svg>\n";
}

std::vector<unsigned char> shrunk_png(const std::vector<unsigned char>& png, std::size_t most_bytes) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  canalrule::ensure(png_image_begin_read_from_memory(&image, png.data(), png.size()) != 0, "a PNG picture");
  image.format = PNG_FORMAT_RGB;
  cv::Mat whole(static_cast<int>(image.height), static_cast<int>(image.width), CV_8UC3);
  canalrule::ensure(png_image_finish_read(&image, nullptr, whole.data, 0, nullptr) != 0, "a PNG picture");
  for (double scale = 0.45;; scale *= 0.93) {
    cv::Mat small;
    cv::resize(whole, small, {}, scale, scale, cv::INTER_AREA);
    // Coarser grey hardly shows on a picture so small, and halves the file.
    for (auto it = small.begin<cv::Vec3b>(); it != small.end<cv::Vec3b>(); ++it)
      for (int k = 0; k < 3; ++k)
        (*it)[k] = static_cast<unsigned char>(std::min(255, ((*it)[k] + 8) / 16 * 16));
    png_image out{};
    out.version = PNG_IMAGE_VERSION;
    out.width = static_cast<png_uint_32>(small.cols);
    out.height = static_cast<png_uint_32>(small.rows);
    out.format = PNG_FORMAT_RGB;
    png_alloc_size_t size = 0;
    png_image_write_get_memory_size(out, size, 0, small.data, 0, nullptr);
    if (size > most_bytes) continue;
    std::vector<unsigned char> bytes(size);
    canalrule::ensure(png_image_write_to_memory(&out, bytes.data(), &size, 0, small.data, 0, nullptr) != 0, "a written PNG");
    bytes.resize(size);
    return bytes;
  }
}

}  // namespace canalrule_benchmark
