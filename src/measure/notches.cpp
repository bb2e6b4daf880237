#include "notches.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include "fitted_line.hpp"
#include "parabola.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/notches.cpp holds them.
constexpr std::array<double, 7> lengths_mm{0.5, 0.7, 0.95, 1.25, 1.6, 2.0, 2.4};
constexpr double sample_mm = 0.1;
constexpr double beside_mm = 1.2;        ///< of the fill to each side that promises how it goes on
constexpr std::size_t least_samples = 3;         ///< to each side
constexpr double guard_mm = 0.1;         ///< between a notch and these
constexpr double inner_share = 0.6;      ///< of a notch's length, in its middle, over which its depth is the mean
constexpr double least_depth_mm = 0.035;
constexpr double other_wall = 0.35;      ///< greatest share of the depth by which the other wall leaves its promise
constexpr double least_times = 5.0;      ///< the depth over what the fill beside leaves its own promise by ...
constexpr double least_rest_mm = 0.003;  ///< ... which is taken to be this at least

/// The fill at one place; mm, rows stretched to the columns' scale.
struct Place {
  double s = 0.0, radius = 0.0;
  Point centre;
};

std::vector<Place> places_along(const FillModel& model, const CanalPath& path, double coronal_px, double mm) {
  std::vector<Place> places;
  for (double s = model.end_px + model.cap_px; s < coronal_px; s += sample_mm / mm) {
    const Point p = path.at(s, model.centre_px(s));
    places.push_back({s * mm, model.radius_px(s) * mm, {p.x * mm, p.y * path.aspect() * mm}});
  }
  return places;
}

/// Those from one s to another.
std::vector<Place> within(const std::vector<Place>& places, double from, double to) {
  const auto at = [&](double s) {
    return std::lower_bound(places.begin(), places.end(), s, [](const Place& p, double there) { return p.s < there; });
  };
  return {at(from), at(to)};
}

/// The places that tell how the fill goes on through a stretch: up to `guard` from it, to both sides; none where too
/// few are seen to one.
std::vector<Place> places_beside(const std::vector<Place>& seen, double from, double to, double guard) {
  std::vector<Place> beside = within(seen, from - beside_mm, from - guard);
  const std::vector<Place> coronal = within(seen, to + guard, to + beside_mm);
  if (std::min(beside.size(), coronal.size()) < least_samples) return {};
  beside.insert(beside.end(), coronal.begin(), coronal.end());
  return beside;
}

/// What they promise of its outline within, by s from the stretch's middle.
struct Promise {
  double middle = 0.0;
  Parabola centre;
  FittedLine radius;
};

FittedLine radius_through(const std::vector<Place>& beside, double middle) {
  std::vector<double> away, radius;
  for (const Place& p : beside) {
    away.push_back(p.s - middle);
    radius.push_back(p.radius);
  }
  return line_through(away, radius);
}

std::optional<Promise> promise_of(const std::vector<Place>& beside, double middle) {
  if (beside.empty()) return std::nullopt;
  Promise promise{middle, {}, radius_through(beside, middle)};
  for (const Place& p : beside) promise.centre.add(p.s - middle, p.centre);
  if (!promise.centre.solve()) return std::nullopt;
  return promise;
}

/// How far a place's outline leaves the promise, mm: the centre to the side, the radius as it is less.
struct Leaves {
  double aside = 0.0, narrower = 0.0;
};

Leaves leaves(const Promise& promise, const Place& p) {
  const double t = p.s - promise.middle;
  const Point there = promise.centre.at(t), ahead = promise.centre.slope(t);
  const double dx = p.centre.x - there.x, dy = p.centre.y - there.y;
  return {(dy * ahead.x - dx * ahead.y) / std::hypot(ahead.x, ahead.y), promise.radius.at(t) - p.radius};
}

struct Notch {
  double from = 0.0, to = 0.0;
  double times = 0.0;  ///< its depth over what the fill beside it leaves its promise by
};

std::optional<Notch> notch_in(const std::vector<Place>& places, double from, double to) {
  const double middle = 0.5 * (from + to), inner = 0.5 * inner_share * (to - from);
  const std::vector<Place> beside = places_beside(places, from, to, guard_mm);
  if (beside.empty()) return std::nullopt;
  const std::vector<Place> inside = within(places, middle - inner, middle + inner);
  // Most often the radius alone tells that there is none.
  const FittedLine radius = radius_through(beside, middle);
  double narrower = 0.0;
  for (const Place& p : inside) narrower += (radius.at(p.s - middle) - p.radius) / static_cast<double>(inside.size());
  if (narrower < 0.5 * (1.0 - other_wall) * least_depth_mm) return std::nullopt;
  const std::optional<Promise> promise = promise_of(beside, middle);
  if (!promise) return std::nullopt;
  double left = 0.0, right = 0.0, squares = 0.0;
  for (const Place& p : inside) {
    const Leaves by = leaves(*promise, p);
    left += (by.narrower + by.aside) / static_cast<double>(inside.size());
    right += (by.narrower - by.aside) / static_cast<double>(inside.size());
  }
  for (const Place& p : beside) {
    const Leaves by = leaves(*promise, p);
    squares += by.aside * by.aside + by.narrower * by.narrower;
  }
  const double rest = std::sqrt(squares / (2.0 * static_cast<double>(beside.size())));
  const double depth = std::max(left, right), other = std::min(left, right);
  const double times = depth / std::max(least_rest_mm, rest);
  if (depth < least_depth_mm || std::fabs(other) > other_wall * depth || times < least_times) return std::nullopt;
  return Notch{from, to, times};
}

/// How far to the side of the path at s the promised centre passes, px.
double passes_at(const Promise& promise, const CanalPath& path, double s, double mm) {
  const Point on = path.at(s), ahead = path.direction(s);
  double t = s * mm - promise.middle;
  double dx = 0.0, dy = 0.0;
  for (int turn = 0; turn < 3; ++turn) {
    const Point there = promise.centre.at(t), slope = promise.centre.slope(t);
    dx = there.x - on.x * mm;
    dy = there.y - on.y * path.aspect() * mm;
    t -= (dx * ahead.x + dy * ahead.y) / (slope.x * ahead.x + slope.y * ahead.y);
  }
  return (dy * ahead.x - dx * ahead.y) / mm;
}

}  // namespace

Stretches notches(const FillModel& model, const CanalPath& path, double coronal_px, double mm) {
  const std::vector<Place> places = places_along(model, path, coronal_px, mm);
  std::vector<Notch> seen;
  for (const double length : lengths_mm)
    for (const Place& p : places)
      if (const std::optional<Notch> one = notch_in(places, p.s - 0.5 * length, p.s + 0.5 * length))
        seen.push_back(*one);
  std::sort(seen.begin(), seen.end(), [](const Notch& a, const Notch& b) { return a.times > b.times; });
  Stretches stretches;
  for (const Notch& one : seen) {
    const double from = (one.from - guard_mm) / mm, to = (one.to + guard_mm) / mm;
    const bool apart = std::none_of(stretches.begin(), stretches.end(), [&](const auto& other) {
      return from < other.second && to > other.first;
    });
    if (apart) stretches.emplace_back(from, to);
  }
  return stretches;
}

FillModel led_across(const FillModel& model, const CanalPath& path, double coronal_px, const Stretches& stretches,
                     double mm) {
  std::vector<Place> seen = places_along(model, path, coronal_px, mm);
  std::erase_if(seen, [&](const Place& p) {
    return std::any_of(stretches.begin(), stretches.end(), [&](const auto& one) {
      return p.s > one.first * mm && p.s < one.second * mm;
    });
  });
  FillModel led = model;
  const LocalBasis& basis = model.centre_basis;
  for (const auto& [from, to] : stretches) {
    const std::optional<Promise> promise =
        promise_of(places_beside(seen, from * mm, to * mm, 0.0), 0.5 * (from + to) * mm);
    if (!promise) continue;
    for (std::size_t k = 0; k < led.centre.size(); ++k) {
      const double s = basis.coefficient_at(k);
      if (s < from || s > to) continue;
      const auto centre = [&](double at) { return passes_at(*promise, path, at, mm); };
      // The spline of coefficients c is c + (its second difference) / 6 at its knots.
      const double here = centre(s);
      led.centre[k] = here - (centre(s - basis.step) - 2.0 * here + centre(s + basis.step)) / 6.0;
    }
  }
  return led;
}

}  // namespace canalrule
