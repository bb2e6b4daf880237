#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include <canalrule/phantom/projection.hpp>
#include <canalrule/phantom/tube.hpp>

namespace canalrule::phantom {

/// One value per line of the spectrum; unused ones are nought.
using Spectral = std::array<double, 3>;

/// A body that takes the place of something else: its pieces and its attenuation over that, per mm.
struct Round {
  std::vector<Piece> pieces;  ///< apex first, without gaps between
  double from_mm = 0.0, to_mm = 0.0;
  bool empty() const { return pieces.empty(); }
};

struct Bubble {
  Ellipsoid body;
  double missing = 1.0;       ///< share of the fill's excess that is missing in it
};

struct Wall {
  WallCut cut;
  double missing = 1.0;
};

struct PuffBody {
  Ellipsoid body;
  Spectral excess{};          ///< over bone, per mm
};

/// Everything in one canal, ready to be crossed by rays.
struct CanalBody {
  Line line;
  Round fill, unfilled, file, stop;
  std::vector<Bubble> bubbles;
  std::vector<Wall> walls;
  std::vector<PuffBody> puffs;
  Spectral fill_over_dentine{}, fill_over_bone{}, unfilled_excess{}, file_excess{}, stop_excess{};
  double active_from_mm = 0.0, active_to_mm = 0.0, active_radius_mm = 0.0;
  std::vector<double> density;       ///< per sample of the line: the fill's over its mean; empty: even
  std::vector<double> depth;         ///< per sample of the line: the fill's over its width; empty: round
  std::vector<double> reach_mm;      ///< per sample of the line: nothing lies further from the axis
  std::vector<std::uint8_t> plain;   ///< per sample: 1 where only smooth walls are near
};

/// Radius of the body's outline at a height, nought outside.
double outline_radius(const Round& round, double along_mm);


/// `seed` is that of the fill's unevenness.
CanalBody build_canal(const Canal& canal, const Curve& curve, const ToothFrame& frame,
                      const Projection& projection, const std::vector<SpectrumLine>& spectrum,
                      std::uint64_t seed);

/// Share of the fill's excess that is missing where the defect is: as given, or from what is in it.
double missing_share(const Defect& defect, const Fill& fill, const std::vector<SpectrumLine>& spectrum);

/// What the canal adds to the attenuation along a ray.
Spectral excess_along(const CanalBody& canal, const Ray& ray);

/// How the ray through this film point passes the canal near `found`.
Ray ray_past(const Line& line, const Nearest::Found& found, Point pixel, const Projection& projection);

}  // namespace canalrule::phantom
