#include "void_match.hpp"

#include <algorithm>
#include <cmath>

#include "dot.hpp"

namespace canalrule {

BlurredEdge::BlurredEdge(double blur_px) : per_px_(256.0 / blur_px) {
  for (int k = -reach; k <= reach; ++k) table_.push_back(0.5 * std::erfc(-k / (256.0 * 1.41421356237)));
}

double BlurredEdge::at(double distance_px) const {
  const double x = distance_px * per_px_ + reach;
  if (x <= 0.0) return 0.0;
  if (x >= 2.0 * reach) return 1.0;
  const auto k = static_cast<std::size_t>(x);
  return table_[k] + (x - static_cast<double>(k)) * (table_[k + 1] - table_[k]);
}

double Shade::shown(double w) const {
  if (deficit < 0.05 || depth < 0.01 || w <= 0.0) return w;
  const double filled = std::exp(-depth);
  const double gap = std::exp(-depth * (1.0 - deficit));
  return (1.0 + std::log(filled + (gap - filled) * w) / depth) / deficit;
}

std::size_t Rows::at(double s) const {
  const double row = std::ceil((s - first_px) / step_px);
  return static_cast<std::size_t>(std::clamp(row, 0.0, static_cast<double>(count)));
}

Box make_box(const Rows& rows, const BlurredEdge& edge, double blur, double from, double to,
             const Shade& shade) {
  Box box{from, to, rows.at(from - 4.0 * blur), {}, {}};
  const std::size_t end = rows.at(to + 4.0 * blur);
  const std::size_t count = end > box.first ? end - box.first : 0;
  box.height.resize(count);
  box.square.resize(count);
  for (std::size_t k = 0; k < count; ++k) {
    const double s = rows.s_px(box.first + k);
    const double h = shade.shown(edge.at(s - from) - edge.at(s - to));
    box.height[k] = h;
    box.square[k] = h * h;
  }
  return box;
}

Sums::Sums(const RowSeries& series) {
  for (std::vector<double>* sum : {&uu, &uus, &uuss, &ur, &urs, &served}) sum->assign(1, 0.0);
  for (std::size_t i = 0; i < series.s_px.size(); ++i) {
    const double u = series.strength[i];
    const double s = series.s_px[i];
    row_uu.push_back(u * u);
    row_uus.push_back(u * u * s);
    row_ur.push_back(u * series.response[i]);
    uu.push_back(uu.back() + row_uu.back());
    uus.push_back(uus.back() + row_uus.back());
    uuss.push_back(uuss.back() + u * u * s * s);
    ur.push_back(ur.back() + row_ur.back());
    urs.push_back(urs.back() + u * series.response[i] * s);
    served.push_back(served.back() + (u > 0.0 ? 1.0 : 0.0));
  }
}

namespace {

double between(const std::vector<double>& sum, std::size_t from, std::size_t to) {
  return to > from ? sum[to] - sum[from] : 0.0;
}

}  // namespace

Match match(const RowSeries& series, const Sums& sums, const Rows& rows, double blur_px, const Window& window,
            const Box& box, double floor_share, double ratio) {
  Match m;
  const std::size_t begin = rows.at(window.from);
  const std::size_t end = rows.at(window.to);
  if (end < begin + 5) return m;
  const double outside = between(sums.served, begin, rows.at(box.from - blur_px)) +
                         between(sums.served, rows.at(box.to + blur_px), end);
  const std::size_t in_from = rows.at(box.from - 0.5);
  const std::size_t in_to = rows.at(box.to + 0.5);
  const double inside = between(sums.served, in_from, in_to);
  if (outside < 5.0 || inside < 0.7 * static_cast<double>(in_to - in_from)) return m;
  const double middle = 0.5 * (box.from + box.to);
  const double* uu = sums.row_uu.data() + box.first;
  const double* ur = sums.row_ur.data() + box.first;
  const std::array<double, 4> shown =
      dots(box.height.data(), {uu, sums.row_uus.data() + box.first, ur, ur}, box.height.size());
  const double x0 = shown[0];
  const double x1 = shown[1] - middle * x0;
  const double br = shown[2];
  const double bb = dot(box.square.data(), uu, box.height.size());
  const double b0 = between(sums.uu, begin, end);
  const double s1 = between(sums.uus, begin, end);
  const double b1 = s1 - middle * b0;
  const double b2 = between(sums.uuss, begin, end) - middle * (2.0 * s1 - middle * b0);
  const double r0 = between(sums.ur, begin, end);
  const double r1 = between(sums.urs, begin, end) - middle * r0;
  // With fill on one side only, the slope can't be told from the gap: a level alone then.
  const double length = window.to - window.from;
  const double det = b0 * b2 - b1 * b1;
  const bool sloped = det > 1e-9 * b0 * b0 * length * length;
  const double level = sloped ? (b2 * x0 - b1 * x1) / det : x0 / std::max(b0, 1e-30);
  const double tilt = sloped ? (b0 * x1 - b1 * x0) / det : 0.0;
  const double tt = bb - level * x0 - tilt * x1;
  if (tt <= 0.0) return m;
  m.amplitude = (br - level * r0 - tilt * r1) / tt;
  m.u_amplitude = std::sqrt(series.noise * series.noise * ratio / tt + floor_share * floor_share);
  m.z = m.amplitude / m.u_amplitude;
  return m;
}

double correlation_ratio(const RowSeries& series, const BlurredEdge& edge, double length,
                         double baseline_px) {
  const double middle = series.s_px[series.s_px.size() / 2];
  std::vector<double> w;
  double white = 0.0;
  for (const double s : series.s_px) {
    if (std::fabs(s - middle) > 0.5 * length + baseline_px) continue;
    w.push_back(edge.at(s - middle + 0.5 * length) - edge.at(s - middle - 0.5 * length) -
                length / (length + 2.0 * baseline_px));
    white += w.back() * w.back();
  }
  const double independent = series.noise * series.noise * white;
  return independent > 0.0 ? variance_of_sum(series, w) / independent : 1.0;
}

}  // namespace canalrule
