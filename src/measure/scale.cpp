#include <canalrule/measure/scale.hpp>

#include <algorithm>
#include <canalrule/base/plain.hpp>
#include <canalrule/base/refusal.hpp>
#include <canalrule/geometry/path.hpp>
#include <cmath>
#include <cstdio>
#include <string>
#include <utility>

#include "click.hpp"
#include "scale_object.hpp"
#include "view.hpp"

namespace canalrule {

namespace {

/// Standard uncertainty of a file's length where the reading gives none: the tolerance of +-0.5 mm on
/// the length of root canal instruments (ISO 3630-1, from memory), and its stop seated to +-0.25 mm, half a
/// step of a ruler (common practice, no source), both taken as rectangular.
const double file_length_mm = std::hypot(0.5, 0.25) / std::sqrt(3.0);

/// Standard uncertainty of a width where the reading gives none: the tolerance of +-0.02 mm on the
/// diameter of root canal instruments (ISO 3630-1, from memory), taken as rectangular.
const double known_width_mm = 0.02 / std::sqrt(3.0);

/// Relative standard uncertainties of a film's own spacing. For a detector's spacing the magnification
/// is unknown: an object 0 to 30 mm before a detector 300 mm from the source is magnified 1 to 1.11
/// times (projection geometry), about +-0.05. The other two are chosen here: PS3.3 10.7.1 gives none.
constexpr double imager_share = 0.05;
constexpr double geometry_share = 0.03;
constexpr double fiducial_share = 0.01;

/// A foreshortening nearer to 1 than this, or than twice its uncertainty, isn't told: it moves a length of 2
/// mm by less than 0.05 mm. Chosen here.
constexpr double telling_foreshortening = 0.025;

/// Cosine of 25 degrees less than 1, more than a tooth leans on a usual film, and of 37, more than on any that serves.
/// Chosen here; tests/unit/measure/scale.cpp.
constexpr double usual_foreshortening = 0.1, most_foreshortening = 0.2;

/// Contributions that differ by more than this many of their combined standard uncertainties are told.
constexpr double telling_disagreement = 2.0;

/// A film outside of these isn't one from the mouth, so that its scale is wrong: the largest measures 57 x 76 mm (ISO
/// 3665, from memory), with room for a scale that is a twentieth off; a detail that shows no 10 mm shows no root.
/// Chosen here; tests/truth/doubtful_marks.cpp.
constexpr double largest_film_mm = 76.0, longest_film_mm = 80.0;
constexpr double shortest_film_mm = 10.0;

/// No scale at all: nothing is measured by one that makes the film shorter, or longer than that. Chosen here;
/// tests/unit/measure/scale.cpp.
constexpr double least_film_mm = 1.0, most_film_mm = 1e4;

double distance_px(Point a, Point b, double aspect) { return std::hypot(b.x - a.x, (b.y - a.y) * aspect); }

double curve_px(const Polyline& points, double aspect) {
  if (points.size() == 2) return distance_px(points[0], points[1], aspect);
  const CanalPath line(points, points.back(), aspect);
  return line.last_px() - line.first_px();
}

std::string text(const char* format, double a, double b) {
  char buffer[240];
  std::snprintf(buffer, sizeof buffer, format, a, b);
  return buffer;
}

Quantity ratio(double length_mm, double u_mm, double pixels, double u_px) {
  const double scale = length_mm / pixels;
  return {scale, scale * std::hypot(u_mm / length_mm, u_px / pixels)};
}

/// Height of a pixel over its width.
double aspect_of(const Film& film) {
  return film.spacing ? film.spacing->row_mm / film.spacing->column_mm : film.row_to_column_aspect;
}

const double two_marks_px = std::sqrt(2.0) * click_px;

ScaleContribution from_length(const KnownLength& mark, double aspect) {
  const double u = mark.length_uncertainty_mm.value_or(file_length_mm);
  const double pixels = curve_px(mark.points, aspect);
  return {"known-length", text("%.2f mm over %.1f px", mark.length_mm, pixels),
          ratio(mark.length_mm, u, pixels, two_marks_px)};
}

/// From an instrument whose ends were set on the film.
ScaleContribution from_instrument(const KnownLength& mark, const ObjectSeen& seen, double aspect) {
  const double u = mark.length_uncertainty_mm.value_or(file_length_mm);
  const double pixels = curve_px(seen.points, aspect);
  const double mm = mark.length_mm / pixels;
  ScaleContribution part{"known-length", text("%.2f mm over %.1f px", mark.length_mm, pixels),
                         ratio(mark.length_mm, u, pixels, std::hypot(seen.tip.u_px, seen.stop.u_px)),
                         SetOnFilm{seen.tip.moved_px * mm, seen.stop.moved_px * mm, seen.points}};
  part.text += text(", its tip set on the film (%+.2f mm) and its stop (%+.2f mm)",
                    part.set_on_film->tip_moved_mm, part.set_on_film->stop_moved_mm);
  return part;
}

struct LengthOnFilm {
  ScaleContribution part;
  KnownObject object;
};

LengthOnFilm from_length_on(const KnownLength& mark, const Film& film, std::optional<Radiopaque> radiopaque) {
  const double aspect = aspect_of(film);
  ObjectSeen seen = see_object(mark, film, radiopaque, aspect);
  ScaleContribution part = seen.instrument ? from_instrument(mark, seen, aspect) : from_length(mark, aspect);
  return {std::move(part), {seen.seen, std::move(seen.points)}};
}

ScaleContribution from_width(const KnownWidth& mark, double aspect) {
  const double u = mark.width_uncertainty_mm.value_or(known_width_mm);
  const double pixels = distance_px(mark.points[0], mark.points[1], aspect);
  return {"known-width", text("%.2f mm over %.1f px", mark.width_mm, pixels),
          ratio(mark.width_mm, u, pixels, two_marks_px)};
}

ScaleContribution from_spacing(const Spacing& spacing) {
  double share = imager_share;
  std::string what;
  switch (spacing.kind) {
    case SpacingKind::calibrated:
      share = spacing.calibration_type == "FIDUCIAL" ? fiducial_share : geometry_share;
      what =
          "DICOM Pixel Spacing, calibration " +
          (spacing.calibration_type.empty() ? std::string("of a kind not said") : spacing.calibration_type);
      break;
    case SpacingKind::patient:
      what = "DICOM Pixel Spacing, what it refers to not said";
      break;
    case SpacingKind::imager:
      what = "DICOM Imager Pixel Spacing at the detector";
      break;
    case SpacingKind::nominal_scanned:
      what = "DICOM Nominal Scanned Pixel Spacing";
      break;
  }
  double mm = spacing.column_mm;
  const bool at_detector =
      spacing.kind == SpacingKind::imager || spacing.kind == SpacingKind::nominal_scanned;
  if (at_detector && spacing.magnification) {
    mm /= *spacing.magnification;
    share = geometry_share;
    what += " over the estimated radiographic magnification";
  } else if (at_detector) {
    what += ", magnification unknown";
  }
  // Between two that contradict each other anything is as likely (JCGM 100:2008, 4.3.7).
  return {"dicom", what, {mm, std::hypot(mm * share, spacing.contradicted_by_mm / std::sqrt(3.0))}};
}

/// Weighted mean with the Birge ratio (R. T. Birge, Phys. Rev. 1932;40:207), which widens only.
struct Pooled {
  Quantity scale;
  std::optional<double> birge;
};

Pooled pool(const std::vector<ScaleContribution>& parts) {
  double weights = 0.0;
  double sum = 0.0;
  for (const ScaleContribution& part : parts) {
    const double w = 1.0 / (part.mm_per_pixel.standard_uncertainty * part.mm_per_pixel.standard_uncertainty);
    weights += w;
    sum += w * part.mm_per_pixel.value;
  }
  Pooled pooled;
  pooled.scale = {sum / weights, 1.0 / std::sqrt(weights)};
  if (parts.size() > 1) {
    double chi = 0.0;
    for (const ScaleContribution& part : parts) {
      const double z =
          (part.mm_per_pixel.value - pooled.scale.value) / part.mm_per_pixel.standard_uncertainty;
      chi += z * z;
    }
    pooled.birge = std::sqrt(chi / static_cast<double>(parts.size() - 1));
    if (*pooled.birge > 1.0) pooled.scale.standard_uncertainty *= *pooled.birge;
  }
  return pooled;
}

std::optional<Radiopaque> known_polarity(const Reading& reading, const Film& film) {
  return reading.radiopaque ? reading.radiopaque : film.radiopaque;
}

/// The scale of another film, mm per pixel along its rows; its aspect is 1 where that film isn't there.
Quantity scale_of_other(const CarriedFrom& other) {
  std::vector<ScaleContribution> parts;
  for (const ScaleMark& mark : other.reading.scale)
    if (const auto* length = std::get_if<KnownLength>(&mark))
      parts.push_back(other.film ? from_length_on(*length, *other.film, known_polarity(other.reading, *other.film)).part
                                 : from_length(*length, 1.0));
  if (parts.empty() && other.film && other.film->spacing) parts.push_back(from_spacing(*other.film->spacing));
  return parts.empty() ? Quantity{} : pool(parts).scale;
}

/// `share`: the scale across over the one along.
void tell_foreshortening(const Quantity& share, bool by_spacing, std::vector<Note>& warnings) {
  const double off = std::fabs(share.value - 1.0), u = share.standard_uncertainty;
  if (off <= std::max(telling_foreshortening, 2.0 * u)) return;
  const std::string across = by_spacing ? "the film's own calibrated spacing" : "the known width";
  std::string told = (share.value < 1.0 ? "The film seems shortened along the tooth, to "
                                        : "The film seems drawn out along the tooth, to ") +
                     plain(share.value, 2) + " ± " + plain(2.0 * u, 2) + " (k = 2) of what it shows across by " +
                     across + ": the scale along serves lengths, the one across widths.";
  if (off > usual_foreshortening)
    told += " So much is more than a tooth usually leans: look first whether the known length is the object's.";
  warnings.push_back({"foreshortened", told});
  if (off - 2.0 * u > most_foreshortening)
    warnings.push_back(
        {"scale-implausible", "The known length and " + across +
                                  " contradict each other: no film of a tooth is shortened or drawn out so much. Look "
                                  "at the lengths that the reading states."});
}

/// The scale across the canal from known widths; without those from the film's own spacing where it is
/// calibrated, weighed against the scale along, which holds across but for the tilt of its object.
void set_across(ScaleFound& found, const Film& film, std::vector<ScaleContribution> across,
                const Quantity& along) {
  const bool spacing_serves = across.empty() && film.spacing && found.scale.source != "dicom" &&
                              film.spacing->kind == SpacingKind::calibrated;
  if (spacing_serves) across.push_back(from_spacing(*film.spacing));
  if (across.empty()) return;
  Pooled wide = pool(across);
  const double share = wide.scale.value / along.value;
  found.scale.foreshortening =
      Quantity{share, share * std::hypot(wide.scale.standard_uncertainty / wide.scale.value,
                                         along.standard_uncertainty / along.value)};
  found.scale.contributions.insert(found.scale.contributions.end(), across.begin(), across.end());
  if (spacing_serves) {
    across.push_back({"known-length",
                      "",
                      {along.value, std::hypot(along.standard_uncertainty, along.value * tilt_share())}});
    wide = pool(across);
  }
  found.scale.mm_per_pixel_across = wide.scale;
  tell_foreshortening(*found.scale.foreshortening, spacing_serves, found.warnings);
}

}  // namespace

ScaleFound find_scale(const Case& opened) {
  const Film& film = opened.film;
  ScaleFound found;
  const double aspect = aspect_of(film);
  found.scale.row_to_column_aspect = aspect;

  std::vector<ScaleContribution> along;
  std::vector<ScaleContribution> across;
  for (std::size_t i = 0; i < opened.reading.scale.size(); ++i) {
    const ScaleMark& mark = opened.reading.scale[i];
    if (const auto* length = std::get_if<KnownLength>(&mark)) {
      LengthOnFilm seen = from_length_on(*length, film, known_polarity(opened.reading, film));
      along.push_back(std::move(seen.part));
      found.objects.push_back(std::move(seen.object));
    } else if (const auto* width = std::get_if<KnownWidth>(&mark)) {
      across.push_back(from_width(*width, aspect));
    } else if (const auto* carried = std::get_if<CarriedLength>(&mark)) {
      for (const CarriedFrom& other : opened.carried) {
        if (other.scale_index != i) continue;
        const Quantity there = scale_of_other(other);
        if (there.value <= 0.0) continue;
        const double other_px =
            distance_px(carried->from_points[0], carried->from_points[1], other.film ? aspect_of(*other.film) : 1.0);
        const double length_mm = other_px * there.value;
        const double u_mm =
            length_mm * std::hypot(there.standard_uncertainty / there.value, two_marks_px / other_px);
        const double pixels = distance_px(carried->points[0], carried->points[1], aspect);
        along.push_back({"carried-length",
                         text("two landmarks %.2f mm apart over %.1f px", length_mm, pixels),
                         ratio(length_mm, u_mm, pixels, two_marks_px)});
      }
    }
  }
  if (along.empty() && film.spacing) {
    along.push_back(from_spacing(*film.spacing));
    if (film.spacing->kind != SpacingKind::calibrated)
      found.warnings.push_back(
          {"scale-from-film-alone",
           "The scale is the film's own spacing (" + along.back().text +
               "): lengths may be too long by the magnification, by up to about a tenth."});
  }
  const bool width_serves_both = along.empty() && !across.empty();
  if (width_serves_both) {
    along = across;
    found.warnings.push_back({"scale-from-width-alone",
                              "The scale along the canal is taken from a known width alone: a film "
                              "foreshortened along the tooth gives lengths that are too short."});
  }
  if (along.empty()) {
    std::string none = "there is no scale, and the film " + opened.image_file + " carries no spacing of its own";
    for (const FilmNote& note : film.notes)
      if (note.code == "ignored-spacing")
        none = "there is no mark of the scale, and " + note.text.substr(0, note.text.find_last_not_of('.') + 1);
    throw Refusal(
        RefusalKind::unusable_input, opened.reading_file, "/scale", none,
        "mark an object of known length, or carry the scale over from the film that shows the file");
  }

  const Pooled pooled = pool(along);
  found.scale.mm_per_pixel = pooled.scale.value;
  found.scale.standard_uncertainty = pooled.scale.standard_uncertainty;
  found.scale.source = along.front().kind;
  for (const ScaleContribution& part : along)
    if (part.kind != along.front().kind) found.scale.source = "pooled";
  found.scale.disagreement = pooled.birge;
  if (pooled.birge && *pooled.birge > telling_disagreement)
    found.warnings.push_back({"scales-disagree", "The marks of known length disagree by " + plain(*pooled.birge, 1) +
                                                     " times what their uncertainties allow; the scale's "
                                                     "uncertainty is widened by as much."});
  found.scale.contributions = along;
  if (!width_serves_both) set_across(found, film, across, pooled.scale);
  const double long_side_mm =
      std::max<double>(film.grey.cols, film.grey.rows * aspect) * pooled.scale.value;
  const std::string remedy = found.scale.source == "dicom"
                                 ? " Look at what the file gives: " + along.front().text + ", " +
                                       plain(along.front().mm_per_pixel.value, 4) + " mm."
                                 : " Look at the lengths that the reading states.";
  if (long_side_mm < least_film_mm || long_side_mm > most_film_mm)
    throw Refusal(RefusalKind::unusable_input, opened.reading_file, "/scale",
                  "by it the film's longer side measures " +
                      (long_side_mm < least_film_mm ? "less than " + plain(least_film_mm, 0)
                                                    : "more than " + plain(most_film_mm, 0)) +
                      " mm",
                  "look at the lengths and at the points that they belong to");
  if (long_side_mm > longest_film_mm)
    found.warnings.push_back(
        {"scale-implausible", text("By this scale the film's longer side measures %.0f mm; the largest film for the "
                                   "mouth measures %.0f mm.",
                                   long_side_mm, largest_film_mm) +
                                  remedy});
  if (long_side_mm < shortest_film_mm)
    found.warnings.push_back(
        {"scale-implausible", text("By this scale the film's longer side measures %.1f mm, less than the %.0f mm that "
                                   "a root needs.",
                                   long_side_mm, shortest_film_mm) +
                                  remedy});
  return found;
}

}  // namespace canalrule
