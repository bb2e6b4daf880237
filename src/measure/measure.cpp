#include <algorithm>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/side_by_side.hpp>
#include <canalrule/base/version.hpp>
#include <canalrule/film/quality.hpp>
#include <canalrule/measure/cautions.hpp>
#include <canalrule/measure/measure.hpp>
#include <canalrule/measure/scale.hpp>
#include <cmath>
#include <filesystem>
#include <opencv2/core/utility.hpp>
#include <optional>
#include <utility>

#include "canal_figures.hpp"
#include "doubtful_marks.hpp"
#include "file_in_canal.hpp"
#include "overlap.hpp"
#include "radiopacity.hpp"
#include "robust.hpp"
#include "steadied.hpp"
#include "together.hpp"
#include "withheld.hpp"

namespace canalrule {

namespace {

constexpr double margin_mm = 5.0;  ///< film prepared about the marks of the canals

std::string name_of(Response response) {
  switch (response) {
    case Response::log:
      return "log";
    case Response::linear:
      return "linear";
    case Response::display:
      return "display";
  }
  return "";
}

cv::Rect region_of(const Case& opened, double mm) {
  const cv::Rect whole(0, 0, opened.film.grey.cols, opened.film.grey.rows);
  double left = 1e9, top = 1e9, right = -1e9, bottom = -1e9;
  for (const CanalMarks& canal : opened.reading.canals) {
    Polyline points = canal.path;
    points.push_back(canal.apex);
    for (const Point& p : points) {
      left = std::min(left, p.x);
      right = std::max(right, p.x);
      top = std::min(top, p.y);
      bottom = std::max(bottom, p.y);
    }
  }
  const double margin = margin_mm / mm;
  const cv::Rect wanted(static_cast<int>(left - margin), static_cast<int>(top - margin),
                        static_cast<int>(right - left + 2.0 * margin),
                        static_cast<int>(bottom - top + 2.0 * margin));
  return wanted & whole;
}

/// Follows every canal and fills in the result's canals; gives the halo's share of each.
std::vector<double> follow_and_figure(const FilmOnBench& bench, const Reading& reading,
                                      const std::vector<CanalPath>& paths, const std::vector<KnownObject>& known,
                                      std::size_t threads, Result& result) {
  const std::size_t count = reading.canals.size();
  std::vector<std::vector<Foreign>> objects;
  for (const CanalPath& path : paths) objects.push_back(scale_objects(bench, known, path));
  std::vector<FollowedOrNot> together = follow_all(bench, reading, paths, objects, threads);
  std::vector<std::vector<Unassessable>> hidden(count);
  std::vector<double> blurs, halos(count, 0.0);
  for (std::size_t i = 0; i < count; ++i) {
    if (!together[i].followed) continue;
    const Followed& own = *together[i].followed;
    hidden[i] = unusable_stretches(bench, own);
    for (std::size_t j = 0; j < count; ++j) {
      if (j == i || !together[j].followed) continue;
      const std::vector<Unassessable> over =
          overlaps(bench, own, as_foreign(bench, *together[j].followed), reading.canals[j].name);
      hidden[i].insert(hidden[i].end(), over.begin(), over.end());
    }
    std::vector<Foreign> over_fill = scale_objects_along(bench, known, paths[i], own);
    over_fill.insert(over_fill.end(), objects[i].begin(), objects[i].end());
    for (const Foreign& object : over_fill) {
      const std::vector<Unassessable> over = under_scale_object(bench, own, object);
      hidden[i].insert(hidden[i].end(), over.begin(), over.end());
    }
    blurs.push_back(unsmoothed_blur_px(own.fit.model.blur_px, bench.mm_per_px) * bench.mm_per_px);
    halos[i] = own.halo_share;
  }
  const bool implausible_scale = std::any_of(result.warnings.begin(), result.warnings.end(),
                                             [](const Note& note) { return note.code == "scale-implausible"; });
  result.canals.resize(count);
  side_by_side(count, threads, [&](std::size_t i) {
    const CanalMarks& marks = reading.canals[i];
    const bool followed = together[i].followed.has_value();
    const ViewShare view = view_share(reading, result.scale, known, paths[i]);
    CanalResult canal =
        followed ? canal_figures(bench, result.scale, view, marks, *std::move(together[i].followed), hidden[i])
                 : canal_without_figures(bench, result.scale, marks, together[i]);
    if (implausible_scale)
      canal.warnings.push_back({"scale-implausible", "The scale can't be right, for the reason that the film's "
                                                     "warnings give: no figure in mm is."});
    const std::vector<Note> doubts = doubtful_marks(canal, marks, paths[i], bench);
    canal.warnings.insert(canal.warnings.end(), doubts.begin(), doubts.end());
    for (std::size_t j = 0; j < count; ++j)
      if (followed && !together[j].followed && drawn_close(bench, paths[i], paths[j]))
        canal.warnings.push_back(
            {"other-not-found", "Canal " + reading.canals[j].name +
                                    " is drawn beside or over this one, and no fill of its own was found there: if it "
                                    "has one, part of that may be measured here."});
    result.canals[i] = std::move(canal);
  });
  if (!blurs.empty()) {
    result.film.blur_mm = median(std::move(blurs));
  }
  return halos;
}

/// What an edge shows of sharpening; an instrument's, whose grey is mostly clipped beside it, shows nothing of it.
void tell_halo(const std::vector<double>& halos, Result& result) {
  for (std::size_t i = 0; i < halos.size(); ++i) {
    const std::vector<Note>& warnings = result.canals[i].warnings;
    const bool instrument = std::any_of(warnings.begin(), warnings.end(),
                                        [](const Note& note) { return note.code == "file-in-canal"; });
    if (result.film.blur_mm)
      result.film.halo_share = std::max(result.film.halo_share.value_or(0.0), instrument ? 0.0 : halos[i]);
  }
  if (result.film.halo_share.value_or(0.0) > 0.0)
    result.warnings.push_back({"edge-enhancement",
                               "The film looks sharpened: a halo stands beside strong edges. It is part of "
                               "the model and is not taken for gaps."});
}

/// A case as far as it is told before any canal is followed.
struct OnBench {
  FilmOnBench film;
  Reading reading;  ///< its paths steadied
  std::vector<CanalPath> paths;
  std::vector<KnownObject> objects;
  Result result;
};

OnBench lay_on_bench(const Case& opened, ScaleFound scale) {
  const Film& film = opened.film;
  OnBench on;
  Result& result = on.result;
  on.objects = std::move(scale.objects);
  result.scale = std::move(scale.scale);
  result.warnings = std::move(scale.warnings);
  for (const MisspeltField& field : opened.reading.misspelt)
    result.warnings.push_back({"field-misspelt", "The reading's field " + field.pointer +
                                                     " isn't known and was not used: " + field.expected +
                                                     " may be meant."});
  for (const FilmNote& note : film.notes) result.warnings.push_back({note.code, note.text});

  FilmOnBench& bench = on.film;
  bench.mm_per_px = result.scale.mm_per_pixel;
  bench.aspect = result.scale.row_to_column_aspect;
  bench.hand_weight = opened.reading.canals.size() > 1 ? hand_weight_among_several : usual_hand_weight;

  on.reading = opened.reading;
  for (CanalMarks& canal : on.reading.canals) canal.path = steadied(canal.path, bench.aspect, bench.mm_per_px);
  for (const CanalMarks& canal : on.reading.canals)
    on.paths.emplace_back(canal.path, canal.apex, bench.aspect);

  Response response = Response::display;
  std::string response_source = "not said: taken as made for display";
  if (opened.reading.response) {
    response = *opened.reading.response;
    response_source = "reading";
  } else if (film.response) {
    response = *film.response;
    response_source = film.response_source;
  }
  Radiopaque radiopaque = Radiopaque::bright;
  std::string radiopaque_source;
  if (opened.reading.radiopaque) {
    radiopaque = *opened.reading.radiopaque;
    radiopaque_source = "reading";
  } else if (film.radiopaque) {
    radiopaque = *film.radiopaque;
    radiopaque_source = film.radiopaque_source;
  } else {
    radiopaque = find_polarity(film, on.paths, bench.mm_per_px);
    radiopaque_source = "told from the film along the canals";
    if (radiopaque == Radiopaque::dark)
      result.warnings.push_back({"radiopaque-dark",
                                 "Radiopaque is taken as dark, since the film is darker along the canals "
                                 "than beside them; say so in the reading to be sure."});
  }
  bench.display = response == Response::display;
  bench.linear = response == Response::linear;

  bench.padding = film.unusable;
  const cv::Rect region = region_of(opened, bench.mm_per_px);
  bench.radiopacity = radiopacity_plane(film, response, radiopaque, region, bench.mm_per_px);
  bench.origin = region.tl();
  bench.size = film.grey.size();

  result.film.columns = film.grey.cols;
  result.film.rows = film.grey.rows;
  result.film.format = film.format;
  result.film.bits_stored = film.bits_stored;
  result.film.response = name_of(response);
  result.film.response_source = response_source;
  result.film.radiopaque = radiopaque == Radiopaque::bright ? "bright" : "dark";
  result.film.radiopaque_source = radiopaque_source;
  return on;
}

Provenance provenance_of(const Case& opened) {
  Provenance from;
  from.program = "canalrule " + std::string(version());
  from.opencv = cv::getVersionString();
  from.image_file = opened.image_file;
  from.image_sha256 = opened.film.sha256;
  from.reading_file = std::filesystem::path(opened.reading_file).filename().string();
  from.reading_sha256 = opened.reading_sha256;
  from.reader = opened.reading.reader;
  from.tooth = opened.reading.tooth;
  return from;
}

Result measured(const Case& opened, OnBench on, const WholeFilm& whole, std::size_t threads) {
  const Clipping& clipping = whole.clipping;
  on.film.unusable = opened.film.unusable;
  if (!clipping.mask.empty())
    on.film.unusable = on.film.unusable.empty() ? clipping.mask : cv::Mat(on.film.unusable | clipping.mask);
  Result result = std::move(on.result);
  result.film.noise_grey = whole.noise_grey;
  result.film.clipped_share = clipping.share;

  const std::vector<double> halos = follow_and_figure(on.film, on.reading, on.paths, on.objects, threads, result);
  for (std::size_t i = 0; i < result.canals.size(); ++i) result.canals[i].drawn_path = opened.reading.canals[i].path;
  for (CanalResult& canal : result.canals)
    if (const std::optional<Note> note = file_in_canal(canal, on.objects, result.scale))
      canal.warnings.push_back(*note);
  tell_halo(halos, result);

  result.provenance = provenance_of(opened);
  result.cautions = cautions();
  return result;
}

}  // namespace

Result measure(const Case& opened, std::size_t threads) {
  std::optional<OnBench> on;
  std::optional<WholeFilm> whole = opened.whole;
  side_by_side(2, threads, [&](std::size_t i) {
    if (i == 0)
      on = lay_on_bench(opened, find_scale(opened));
    else if (!whole)
      whole = look_at_whole(opened.film, threads);
  });
  return measured(opened, *std::move(on), *whole, threads);
}

Result measure(const Case& opened, ScaleFound scale) {
  return measured(opened, lay_on_bench(opened, std::move(scale)),
                  opened.whole ? *opened.whole : look_at_whole(opened.film), 1);
}

}  // namespace canalrule
