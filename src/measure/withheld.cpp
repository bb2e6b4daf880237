#include "withheld.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <iterator>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "beyond.hpp"
#include "canal_figures.hpp"
#include "curvature.hpp"
#include "plan.hpp"
#include "terminus_figure.hpp"

namespace canalrule {

namespace {

/// Height of the fill near its end over its surroundings' texture below which the end isn't told. Chosen here: of 17
/// hard films under it 15 ends were off by more than 0.3 mm; tests/truth/around_the_end.cpp.
constexpr double hidden_end = 1.0;
constexpr double beside_hidden_mm = 1.0;  ///< of the fill, next to an end that isn't told; likewise
/// Beyond the apex, where a faint end isn't told either. Chosen here; no test holds it.
constexpr double far_beyond_mm = 3.0;

/// An end that lies farther from where it was first found, mm, is doubtful; where it stands out so many times as much
/// as its surroundings' texture, that is no more than a thin tip first overlooked. Chosen here;
/// tests/unit/measure/end_warnings.cpp.
constexpr double most_travelled_mm = 0.35;
constexpr double clear_end = 20.0;
constexpr double clear_travelled_mm = 0.6;

/// Standard uncertainty of a fill's outline at its end, mm, over which it is no sure end. Chosen here;
/// tests/truth/around_the_end.cpp.
constexpr double unsure_end_mm = 0.25;

constexpr double least_piece_mm = 1.0;  ///< of fill between stretches not told apart; tests/truth/together.cpp

/// Of a fill so little of which is seen, mm, that no void was found in it tells nothing. Chosen here;
/// tests/truth/together.cpp.
constexpr double least_looked_at_mm = 0.5;

std::string sentence(const char* format, double a, double b = 0.0) {
  char buffer[240];
  std::snprintf(buffer, sizeof buffer, format, a, b);
  return buffer;
}

/// Takes back the fill's end and what is reckoned from it.
void hide_end(CanalResult& canal, std::optional<double> from_mm, std::optional<double> to_mm,
              const std::string& reason, const std::string& text) {
  for (const char* figure : {"terminus", "filled_length_mm"})
    canal.not_assessable.push_back({figure, from_mm, to_mm, reason, text});
  canal.terminus.reset();
  canal.filled_length_mm.reset();
  canal.material_beyond_apex.clear();
  canal.empty_canal.reset();
}

/// Takes back the tapers of a fill and of its thirds, which an end that isn't seen would bound.
void hide_tapers(CanalResult& canal, const std::string& reason, const std::string& text) {
  Taper& taper = canal.taper;
  for (const auto& [figure, value] : {std::pair{"taper.overall", &taper.overall}, {"taper.apical", &taper.apical},
                                      {"taper.middle", &taper.middle}, {"taper.coronal", &taper.coronal}}) {
    if (*value) canal.not_assessable.push_back({figure, std::nullopt, std::nullopt, reason, text});
    value->reset();
  }
}

/// Takes back what isn't known of a fill whose coronal end, at or coronal of `from_mm`, isn't seen: its level, its
/// length and its thirds. Of voids, width and taper the rest isn't seen, a millimetre of it at least.
void hide_coronal_part(CanalResult& canal, double from_mm, const std::string& reason, const std::string& text) {
  constexpr double least_rest_mm = 1.0;  // chosen here: so much that nothing is whole; tests/truth/doubtful_marks.cpp
  for (const char* figure : {"coronal_level_mm", "filled_length_mm", "taper.overall", "taper.apical", "taper.middle",
                             "taper.coronal"})
    canal.not_assessable.push_back({figure, std::nullopt, std::nullopt, reason, text});
  for (const char* figure : {"voids", "width", "taper"})
    canal.not_assessable.push_back({figure, from_mm, from_mm + least_rest_mm, reason, text});
  canal.coronal_level_mm.reset();
  canal.filled_length_mm.reset();
  for (std::optional<Quantity>* taper :
       {&canal.taper.overall, &canal.taper.apical, &canal.taper.middle, &canal.taper.coronal})
    taper->reset();
}

/// Takes back what is told of the fill next to an end at `end_mm` that isn't.
void hide_beside_end(CanalResult& canal, double end_mm, const std::string& reason, const std::string& text) {
  const double to_mm = end_mm + beside_hidden_mm;
  if (canal.voids) std::erase_if(*canal.voids, [&](const Void& one) { return one.from_mm < to_mm; });
  std::erase_if(canal.width, [&](const WidthAt& one) { return one.at_mm < to_mm; });
  for (const char* figure : {"voids", "width"}) canal.not_assessable.push_back({figure, end_mm, to_mm, reason, text});
}

/// Takes back the voids in a piece of fill too short to be told from what lies over it beside, and tells that.
void hide_piece(CanalResult& canal, double from_mm, double to_mm, const std::string& reason) {
  if (canal.voids)
    std::erase_if(*canal.voids, [&](const Void& one) {
      const double middle = 0.5 * (one.from_mm + one.to_mm);
      return middle > from_mm && middle < to_mm;
    });
  for (const char* figure : {"voids", "width"})
    canal.not_assessable.push_back({figure, from_mm, to_mm, reason,
                                    "Too short a piece beside a stretch that something else lies over."});
}

/// How much of the fill between two places, mm, is looked at for voids.
double looked_at(const CanalResult& canal, double from_mm, double to_mm) {
  std::vector<std::pair<double, double>> hidden;
  for (const NotAssessable& each : canal.not_assessable)
    if (each.figure == "voids" && each.from_mm && each.to_mm) hidden.emplace_back(*each.from_mm, *each.to_mm);
  std::sort(hidden.begin(), hidden.end());
  double seen = 0.0;
  double at = from_mm;
  for (const auto& [from, to] : hidden) {
    seen += std::max(0.0, std::min(from, to_mm) - at);
    at = std::max(at, to);
  }
  return seen + std::max(0.0, to_mm - at);
}

/// Tells how doubtful an end at `end_mm` is that stands out `height` times its surroundings' texture and lies
/// `travelled_mm` from where it was first found (doubtful_travel_mm), or takes it back. `going_on_mm`: of canal in
/// which the fill may go on, told already.
void doubt_end(CanalResult& canal, double end_mm, double height, double travelled_mm, double going_on_mm) {
  if (height < hidden_end || (height < faint_end && end_mm < -far_beyond_mm)) {
    const std::string text =
        height < hidden_end
            ? sentence("Near its end the fill stands out only %.1f times its surroundings' texture: where it ends "
                       "can't be told.",
                       height)
            : sentence("The fill seems to end %.1f mm beyond the apex, where it stands out only %.1f times its "
                       "surroundings' texture: where it ends can't be told.",
                       -end_mm, height);
    hide_end(canal, std::nullopt, std::nullopt, "end-faint", text);
    hide_tapers(canal, "end-faint", text);
    hide_beside_end(canal, end_mm, "end-faint", text);
    return;
  }
  if (height < faint_end)
    canal.warnings.push_back({"end-faint", sentence("Near its end the fill stands out only %.1f times its "
                                                    "surroundings' texture: look at the end on the picture.",
                                                    height)});
  if (travelled_mm > 0.0)
    canal.warnings.push_back(
        {"end-uncertain",
         sentence("The fill's end lies %.2f mm from where it was first found; its uncertainty reaches that far. Look "
                  "at it on the picture.",
                  travelled_mm)});
  else if (const double u = outline_uncertainty_mm(*canal.terminus);
           u > unsure_end_mm && going_on_mm == 0.0)
    canal.warnings.push_back(
        {"end-uncertain", sentence("Where the fill ends is known to ± %.1f mm only (k = 2). Look at it on the picture.",
                                   2.0 * u)});
}

}  // namespace

double end_height(const Followed& followed, const FillFit& fit, double mm) {
  // The texture as the stiffer fit left it: a freer one follows it with its radius.
  const double texture = std::max(fit.texture, followed.fit.texture);
  return std::min(followed.evidence,
                  fit.model.contrast * 2.0 * fit.model.radius_px(fit.model.end_px + 0.5 / mm) / texture);
}

double doubtful_travel_mm(const Followed& followed, const FillFit& fit, double mm) {
  const double travelled_mm = std::fabs(fit.model.end_px - followed.first_end_px) * mm;
  const bool clear = end_height(followed, fit, mm) > clear_end;
  return travelled_mm > (clear ? clear_travelled_mm : most_travelled_mm) ? travelled_mm : 0.0;
}

void withhold_scraps(CanalResult& canal, const std::string& reason) {
  std::vector<WidthAt> kept;
  for (auto from = canal.width.begin(); from != canal.width.end();) {
    auto to = std::next(from);
    while (to != canal.width.end() && to->at_mm - std::prev(to)->at_mm < 1.5 * width_every_mm) ++to;
    if (std::prev(to)->at_mm - from->at_mm >= least_piece_mm)
      kept.insert(kept.end(), from, to);
    else
      hide_piece(canal, from->at_mm, std::prev(to)->at_mm, reason);
    from = to;
  }
  canal.width = std::move(kept);
}

void withhold(CanalResult& canal, const Followed& followed, const FillFit& fit,
              const std::vector<Unassessable>& unassessable, double mm) {
  const double end = fit.model.end_px;
  for (const Unassessable& u : unassessable) {
    // Over the end itself, or so near to it that what lies apical of it may belong to the other fill.
    const bool over_end = u.hidden == Hidden::all
                              ? u.from_px <= end + 0.15 / mm && u.to_px >= end - 0.15 / mm
                              : u.tip_inside;
    const bool long_near_end = u.hidden == Hidden::all && u.to_px - u.from_px > 1.0 / mm && u.to_px > end &&
                               (u.from_px - end < 1.0 / mm || (end < -0.5 / mm && u.from_px < 1.0 / mm));
    if (over_end || long_near_end) {
      const std::string text = "The fill's end can't be seen: " + u.text;
      hide_end(canal, u.from_px * mm, u.to_px * mm, u.reason, text);
      if (u.reason == "off-film") hide_tapers(canal, u.reason, text);
      break;
    }
  }
  if (!followed.other.empty() && !followed.settled) {
    for (const char* figure : {"coronal_level_mm", "filled_length_mm"})
      canal.not_assessable.push_back(
          {figure, std::nullopt, std::nullopt, "overlap",
           "Another canal's fill lies over this one, and the film doesn't tell them apart there."});
    canal.coronal_level_mm.reset();
    canal.filled_length_mm.reset();
  }
  if (followed.trace.reaches_coronal_end)
    hide_coronal_part(canal, followed.coronal_px * mm, "goes-on-coronally",
                      "The fill goes on where the drawn path, or the film, ends: draw the path up to the fill's "
                      "coronal end, where the film shows one.");
  else if (followed.trace.coronal_end_clipped)
    hide_coronal_part(canal, followed.coronal_px * mm, "clipped",
                      "The film's grey is clipped about the fill's coronal end: it can't be seen where that lies.");
  for (const Unassessable& u : unassessable)
    if (u.reason == "scale-object" && u.to_px > followed.coronal_px && canal.coronal_level_mm)
      hide_coronal_part(canal, u.from_px * mm, u.reason, "The fill's coronal end can't be seen: " + u.text);
  bool overlap = false;
  bool together = false;
  bool clipped = false;
  bool scale_object = false;
  for (const Unassessable& u : unassessable) {
    overlap = overlap || (u.reason == "overlap" && u.hidden == Hidden::all);
    together = together || u.hidden == Hidden::voids;
    clipped = clipped || u.reason == "clipped";
    scale_object = scale_object || u.reason == "scale-object";
  }
  const auto nothing_seen = [&] { return looked_at(canal, end * mm, followed.coronal_px * mm) < least_looked_at_mm; };
  if (overlap)
    canal.warnings.push_back(
        {"overlap",
         nothing_seen()
             ? "Another canal's fill lies over all of this one: where one canal was drawn twice, take one of the two "
               "away. A second film at another horizontal angle, where one exists, may show both."
             : "Another canal's fill lies over part of this one; that stretch is left out of voids, width and "
               "taper. A second film at another horizontal angle, where one exists, may show it."});
  if (together)
    canal.warnings.push_back(
        {"fitted-together",
         "Another canal's fill lies over part of this one; both were fitted together. A void there can't be "
         "told, since it may lie in either."});
  if (scale_object)
    canal.warnings.push_back({"scale-object-over-fill",
                              "An object that gives the scale lies over part of this fill; that stretch is left out of "
                              "voids, width and taper."});
  if (clipped)
    canal.warnings.push_back({"clipped-grey",
                              "The film's grey is clipped over part of this fill; that stretch is left out "
                              "of voids, width and taper."});
  const double going_on_mm = goes_on_apically_mm(followed, fit, mm);
  if (canal.terminus && going_on_mm > 0.0)
    canal.warnings.push_back(
        {"goes-on-apically",
         sentence("Apical of this end, in the last %.1f mm of the canal, something more radiopaque than dentine is "
                  "seen: a fill may go on there, or what ends may be a post.",
                  going_on_mm) +
             " Where it is one, let the path begin apical of it. The uncertainty reaches to the apex. Look at the end "
             "on the picture."});
  if (canal.terminus)
    doubt_end(canal, end * mm, end_height(followed, fit, mm), doubtful_travel_mm(followed, fit, mm),
              going_on_mm);
  if (nothing_seen()) canal.voids.reset();
}

CanalResult canal_without_figures(const FilmOnBench& film, const ScaleResult& scale, const CanalMarks& marks,
                                  const FollowedOrNot& answer) {
  CanalResult canal;
  canal.name = marks.name;
  canal.curvature_deg = schneider_angle(marks, film.aspect, film.mm_per_px);
  std::string reason;
  std::string text;
  switch (answer.why) {
    case NoTrace::off_film:
      reason = "off-film";
      text = "The drawn path lies outside the film, or where it carries no grey.";
      break;
    case NoTrace::no_fill:
      reason = "no-fill-found";
      text = "No radiopaque fill was found along the drawn path: look whether the path follows one, and whether bright "
             "or dark is radiopaque here.";
      break;
    case NoTrace::no_fit:
      reason = "no-fit";
      text = "What lies along the drawn path does not look like a fill: look at the scale's length, at the path, and "
             "whether bright or dark is radiopaque here.";
      break;
    case NoTrace::too_faint:
      reason = "too-faint";
      text = sentence(
          "What lies along the path stands out only %.1f times its surroundings' texture; a fill needs %.1f times.",
          answer.evidence, least_evidence);
      break;
  }
  for (const char* figure : {"terminus", "coronal_level_mm", "filled_length_mm", "voids", "width",
                             "taper.overall", "taper.apical", "taper.middle", "taper.coronal"})
    canal.not_assessable.push_back({figure, std::nullopt, std::nullopt, reason, text});
  if (answer.why == NoTrace::too_faint) canal.film.contrast_to_texture = answer.evidence;
  const HeldAgainstPlan held = against_plan(marks, canal, scale, scale.standard_uncertainty / scale.mm_per_pixel);
  canal.not_assessable.insert(canal.not_assessable.end(), held.not_assessable.begin(), held.not_assessable.end());
  return canal;
}

}  // namespace canalrule
