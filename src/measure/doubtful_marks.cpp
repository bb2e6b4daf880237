#include "doubtful_marks.hpp"

#include <algorithm>
#include <canalrule/base/plain.hpp>
#include <cmath>
#include <optional>

#include "apex_mark.hpp"

namespace canalrule {

namespace {

// Chosen here, far from what hands do (0.3 mm aside at most on 400 simulated films); tests/truth/doubtful_marks.cpp.
constexpr double aside_mm = 1.0;
constexpr double beyond_mm = 3.0;
constexpr double apart_mm = 3.0;  ///< of marks of one apex
/// Of an end that the film shows apart from the mark, the score, mm and standard uncertainties: a neighbouring root may
/// seem one. Chosen here; tests/truth/root_end.cpp.
constexpr double plain_end_score = 8.0, plain_end_mm = 0.5, plain_end_surely = 4.0;
constexpr double narrows_by = 0.01;  ///< mm per mm
constexpr double surely = 3.0;       ///< standard uncertainties
constexpr double pinched = 0.5;      ///< share of the widths to both sides
constexpr double chord_mm = 1.5;     ///< two of them one after the other part by less than a right angle

/// Whether the line doubles back, as no canal does.
bool turns_back(const CanalPath& path, double mm_per_px) {
  const double chord = chord_mm / mm_per_px;
  for (double s = path.first_px(); s + 2.0 * chord <= path.last_px(); s += 0.25 * chord) {
    const Point a = path.at(s, 0.0), b = path.at(s + chord, 0.0), c = path.at(s + 2.0 * chord, 0.0);
    const double rows = path.aspect() * path.aspect();
    if ((b.x - a.x) * (c.x - b.x) + rows * (b.y - a.y) * (c.y - b.y) < 0.0) return true;
  }
  return false;
}

/// From the mean of the apical half of the widths to that of the coronal half, mm per mm, also where a taper isn't
/// given; nought of few. Widths beside each other share their errors: the means are known no better than one.
Quantity taper_of(const std::vector<WidthAt>& widths) {
  constexpr std::size_t least = 6;
  if (widths.size() < least) return {};
  const std::size_t half = widths.size() / 2;
  WidthAt apical, coronal;
  for (std::size_t i = 0; i < half; ++i) {
    const double share = 1.0 / static_cast<double>(half);
    const WidthAt &low = widths[i], &high = widths[widths.size() - 1 - i];
    apical.at_mm += share * low.at_mm;
    apical.width_mm += share * low.width_mm;
    apical.standard_uncertainty_mm += share * low.standard_uncertainty_mm;
    coronal.at_mm += share * high.at_mm;
    coronal.width_mm += share * high.width_mm;
    coronal.standard_uncertainty_mm += share * high.standard_uncertainty_mm;
  }
  const double apart = coronal.at_mm - apical.at_mm;
  return {(coronal.width_mm - apical.width_mm) / apart,
          std::hypot(coronal.standard_uncertainty_mm, apical.standard_uncertainty_mm) / apart};
}

/// Where the outline is less than half as wide as to both its sides, as no fill is, but one beside which the path runs.
std::optional<double> pinched_at_mm(const std::vector<WidthAt>& widths) {
  std::vector<double> widest_coronal(widths.size());
  double widest = 0.0;
  for (std::size_t i = widths.size(); i-- > 0;) widest_coronal[i] = widest = std::max(widest, widths[i].width_mm);
  double widest_apical = 0.0;
  for (std::size_t i = 0; i < widths.size(); ++i) {
    widest_apical = std::max(widest_apical, widths[i].width_mm);
    const double most = widths[i].width_mm + surely * widths[i].standard_uncertainty_mm;
    if (most < pinched * std::min(widest_apical, widest_coronal[i])) return widths[i].at_mm;
  }
  return std::nullopt;
}

/// Whether the root's end is plainly seen elsewhere than marked.
bool apart_from(const RootEnd& seen, double mark) {
  const double off = std::fabs(seen.to_apex_mm.value);
  return seen.score > plain_end_score && off > plain_end_mm &&
         off > plain_end_surely * std::hypot(seen.to_apex_mm.standard_uncertainty, mark);
}

}  // namespace

std::vector<Note> doubtful_marks(const CanalResult& canal, const CanalMarks& marks, const CanalPath& path,
                                 const FilmOnBench& film) {
  const double mm_per_px = film.mm_per_px;
  std::vector<Note> notes;
  double apart = 0.0;
  for (const Point& again : marks.apex_marks)
    apart = std::max(apart, std::hypot(again.x - marks.apex.x, (again.y - marks.apex.y) * path.aspect()) * mm_per_px);
  if (marks.line == LineSource::proposed)
    notes.push_back({"line-proposed", "The line of this canal is the program's proposal, which no person has accepted "
                                      "or changed yet: look whether it follows the canal."});
  if (apart > apart_mm)
    notes.push_back({"apex-marks-apart", "A repeated mark of the apex lies " + plain(apart, 1) +
                                             " mm from the first: look whether both belong to one canal."});
  const double aside = std::fabs(path.project(marks.apex).n_px) * mm_per_px;
  if (aside > aside_mm)
    notes.push_back({"apex-aside", "The apex mark lies " + plain(aside, 1) +
                                       " mm beside the drawn path: look whether both belong to one canal."});
  const Point& apex = marks.apex;
  if (apex.x < 0.0 || apex.y < 0.0 || apex.x > film.size.width || apex.y > film.size.height)
    notes.push_back({"apex-off-film", "The apex mark lies off the film, where nobody sees the apex: nothing can be "
                                      "held against it."});
  const double mark = apex_mark(marks, path, mm_per_px).standard_uncertainty_mm;
  if (canal.root_end && apart_from(*canal.root_end, mark))
    notes.push_back({"apex-off-root-end",
                     "The film seems to show the root's end " + plain(std::fabs(canal.root_end->to_apex_mm.value), 1) +
                         (canal.root_end->to_apex_mm.value < 0.0 ? " mm apical" : " mm coronal") +
                         " of the apex mark: look whether that is where it belongs. The figures follow the mark."});
  if (-path.first_px() > std::max(0.0, path.last_px()))
    notes.push_back({"path-reversed", "The apex mark lies at the path's first point rather than its last, but a path "
                                      "runs from the crown to the apex: draw it the other way round."});
  if (turns_back(path, mm_per_px))
    notes.push_back({"path-turns-back", "The drawn path turns back on itself, as no canal does: draw it anew."});
  if (const Quantity taper = taper_of(canal.width);
      taper.value + surely * taper.standard_uncertainty < -narrows_by)
    notes.push_back({"taper-reversed", "The fill grows narrower towards the crown all along (" + plain(taper.value, 3) +
                                           " mm per mm): the apex may be marked at the wrong end of it."});
  if (const std::optional<double> at_mm = pinched_at_mm(canal.width))
    notes.push_back({"outline-pinched", "At " + plain(*at_mm, 1) +
                                            " mm the outline found is less than half as wide as to both sides: look "
                                            "whether the drawn path follows the canal there."});
  if (canal.terminus && canal.terminus->to_apex_mm < -beyond_mm)
    notes.push_back({"far-beyond-apex", "The fill seems to end " + plain(-canal.terminus->to_apex_mm, 1) +
                                            " mm beyond the apex: look at the apex mark and the path."});
  return notes;
}

}  // namespace canalrule
