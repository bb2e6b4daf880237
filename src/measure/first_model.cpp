#include "first_model.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule {

namespace {

// Chosen here; tests/truth/terminus.cpp and width.cpp hold them.
constexpr double radius_knots_mm = 0.5;
constexpr double centre_knots_mm = 0.7;
constexpr double first_blur_mm = 0.045;
constexpr double apex_soft_mm = 0.12;  ///< a root's rounded end, and the apex mark's own uncertainty
/// Where scatter can't be told from a display's unknown curve, the attenuation that stands for both while its turn
/// isn't fitted. Chosen here; tests/truth/width.cpp and together.cpp.
constexpr double display_absorption_per_mm = 1.35;
constexpr double foramen_mm = 0.125;  ///< radius, from memory: foramina are 0.2 to 0.3 mm wide

/// Coefficients of a local basis that follow a function sampled at the knots.
template <class Function>
std::vector<double> coefficients(const LocalBasis& basis, Function&& f) {
  std::vector<double> c(static_cast<std::size_t>(basis.count));
  for (int k = 0; k < basis.count; ++k)
    c[static_cast<std::size_t>(k)] = f(basis.first + (k - 1) * basis.step);
  return c;
}

}  // namespace

FillModel first_model(const FilmOnBench& film, const Trace& trace, double end_px, double coronal_px) {
  const double mm = film.mm_per_px;
  FillModel model;
  model.radius_basis = LocalBasis::over(end_px - 0.5 / mm, coronal_px, radius_knots_mm / mm);
  model.centre_basis = LocalBasis::over(end_px - 0.5 / mm, coronal_px, centre_knots_mm / mm);
  const double least = 0.06 / mm;
  model.radius =
      coefficients(model.radius_basis, [&](double s) { return std::max(least, trace.radius_px(s)); });
  model.centre = coefficients(model.centre_basis, [&](double s) {
    // Mean of the trace's offsets within half a millimetre, inside the fill only.
    const double inside = std::clamp(s, end_px + 0.2 / mm, coronal_px - 0.2 / mm);
    double sum = 0.0;
    double count = 0.0;
    for (std::size_t b = 0; b < trace.s_px.size(); ++b) {
      const double away = (trace.s_px[b] - inside) * mm / 0.4;
      if (std::fabs(away) >= 1.0) continue;
      const double w = 1.0 - away * away;
      sum += w * trace.offset_px[b];
      count += w;
    }
    return count > 0.0 ? sum / count : 0.0;
  });
  model.contrast = trace.contrast;
  model.contrast_at_px = 0.5 * (end_px + coronal_px);
  model.contrast_span_px = std::max(1.0, coronal_px - end_px);
  model.absorption = (film.display ? display_absorption_per_mm : absorption_per_mm) * mm;
  model.scattered = !film.display;
  if (model.scattered) model.bend = usual_scatter * model.absorption;
  model.blur_px = std::max(0.8, first_blur_mm / mm);
  model.end_px = end_px;
  model.apex_soft_px = apex_soft_mm / mm;
  model.cap_px = 0.6 * std::max(1.0, trace.radius_px(end_px));
  model.foramen_px = foramen_mm / mm;
  model.halo_px = 4.0 * model.blur_px;
  return model;
}

FillModel moved_model(const FilmOnBench& film, const FillModel& model, double end_px, double coronal_px) {
  const double mm = film.mm_per_px;
  const double moved = end_px - model.end_px;
  FillModel there = model;
  there.radius_basis = LocalBasis::over(end_px - 0.5 / mm, coronal_px, radius_knots_mm / mm);
  there.centre_basis = LocalBasis::over(end_px - 0.5 / mm, coronal_px, centre_knots_mm / mm);
  there.radius = coefficients(there.radius_basis, [&](double s) { return model.radius_px(s - moved); });
  there.centre.assign(static_cast<std::size_t>(there.centre_basis.count), 0.0);
  there.end_px = end_px;
  there.contrast_at_px += moved;
  return there;
}

}  // namespace canalrule
