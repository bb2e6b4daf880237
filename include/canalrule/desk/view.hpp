#pragma once

#include <optional>

#include <opencv2/core.hpp>

#include <canalrule/base/point.hpp>
#include <canalrule/desk/drawing.hpp>
#include <canalrule/film/film.hpp>

/// How a film is shown. The film's grey values are never changed by it.
namespace canalrule::desk {

enum class Shown { as_stored, inverted };

/// Linear from black to white over `width` grey levels about `centre`, in stored grey; values beyond are
/// black or white.
struct Tone {
  double centre = 0.0;
  double width = 1.0;  ///< > 0
  Shown shown = Shown::as_stored;
  friend bool operator==(const Tone&, const Tone&) = default;
};

/// CV_8UC1 of the film's size, each pixel by itself. Unusable pixels are mid-grey. Radiopaque looks bright in
/// Shown::as_stored unless the film says that dark is radiopaque. A few ms on a film of 1500 x 2000.
cv::Mat shown_picture(const Film& film, const Tone& tone);

/// A part of the film, for a magnifier: `region` in whole pixels, cut at the film's edge.
cv::Mat shown_picture(const Film& film, const Tone& tone, const cv::Rect& region);

/// The tone over the whole film: its 0.5 to 99.5 percent of usable pixels.
Tone automatic_tone(const Film& film);

/// The tone for the tooth's own range: the same of the pixels within a rectangle about the canals' marks,
/// wider by a fifth of its longer side; of the whole film where there are none.
Tone automatic_tone(const Film& film, const Drawing& drawing);

/// The tone after dragging by so many screen pixels: to the right brighter, by what is now shown from black
/// to white per 400 px; down less contrast, by half per 100 px.
Tone dragged(const Tone& tone, const Film& film, double right_px, double down_px);

/// Grey value of the pixel under a point; nothing off the film or where it is unusable.
std::optional<double> grey_under(const Film& film, Point at);

}  // namespace canalrule::desk
