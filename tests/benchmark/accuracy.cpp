// Prints how close the measuring comes to the truth on simulated films, family by family, and the time
// a film takes. Not a test: the tests hold bounds, this shows the figures.
#include <algorithm>
#include <canalrule/measure/measure.hpp>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <film_families.hpp>
#include <functional>
#include <map>
#include <opencv2/core/utility.hpp>
#include <string>
#include <vector>

namespace {

using namespace canalrule;

struct Sample {
  std::vector<double> errors;
  std::vector<double> standardised;

  void add(double error, double u) {
    errors.push_back(error);
    if (u > 0.0) standardised.push_back(error / u);
  }
};

double quantile(std::vector<double> v, double share) {
  if (v.empty()) return std::nan("");
  std::sort(v.begin(), v.end());
  return v[std::min(v.size() - 1, static_cast<std::size_t>(share * static_cast<double>(v.size())))];
}

void print(const char* what, const Sample& s) {
  if (s.errors.empty()) {
    std::printf("  %-22s none\n", what);
    return;
  }
  double sum = 0, squares = 0, z2 = 0, inside = 0;
  std::vector<double> size;
  for (const double e : s.errors) {
    sum += e;
    squares += e * e;
    size.push_back(std::fabs(e));
  }
  for (const double z : s.standardised) {
    z2 += z * z;
    inside += std::fabs(z) <= 2.0 ? 1.0 : 0.0;
  }
  const double n = static_cast<double>(s.errors.size());
  const double m = static_cast<double>(std::max<std::size_t>(1, s.standardised.size()));
  std::printf(
      "  %-22s n %5.0f  bias %8.4f  RMS %7.4f  median %7.4f  95%% %7.4f  max %7.4f | z RMS %5.2f  within 2u "
      "%5.1f %%\n",
      what, n, sum / n, std::sqrt(squares / n), quantile(size, 0.5), quantile(size, 0.95),
      quantile(size, 1.0), std::sqrt(z2 / m), 100.0 * inside / m);
}

double true_width(const phantom::TrueCanal& canal, double at_mm) {
  const auto& w = canal.width;
  for (std::size_t i = 1; i < w.size(); ++i)
    if (w[i].at_mm >= at_mm && w[i - 1].at_mm <= at_mm) {
      const double f = (at_mm - w[i - 1].at_mm) / (w[i].at_mm - w[i - 1].at_mm);
      return w[i - 1].width_mm + f * (w[i].width_mm - w[i - 1].width_mm);
    }
  return std::nan("");
}

}  // namespace

int main(int argc, char** argv) {
  using namespace canalrule;
  if (argc < 3) {
    std::puts(
        "usage: accuracy FAMILY COUNT [FIRST_SEED [DEFECT [LENGTH_MM DEFICIT]]]\n"
        "  FAMILY clean, usual or hard; DEFECT none (default), gap (0.5 mm and whole unless said), break or\n"
        "  own (the family's own)");
    return 2;
  }
  cv::setNumThreads(1);
  const std::string family = argv[1];
  const int count = std::atoi(argv[2]);
  const int first = argc > 3 ? std::atoi(argv[3]) : 1;
  const std::string defect = argc > 4 ? argv[4] : "none";
  const double gap_mm = argc > 6 ? std::atof(argv[5]) : 0.5;
  const double gap_deficit = argc > 6 ? std::atof(argv[6]) : 1.0;
  const bool verbose = std::getenv("ACCURACY_ROWS") != nullptr;

  Sample terminus, outline, coronal, width, overall, apical, middle, coronal_taper, void_place, void_length,
      void_deficit;
  int refused = 0, false_voids = 0, fills = 0, gaps = 0, gaps_found = 0, false_breaks = 0, breaks = 0,
      breaks_found = 0, gross = 0, gross_warned = 0, warned = 0;
  double seconds = 0.0;
  std::vector<double> times, true_scores, false_scores;
  for (int k = 0; k < count; ++k) {
    const auto seed = static_cast<std::uint64_t>(first + k);
    families::Choice choice;
    if (defect == "gap")
      choice.defect = families::WithVoid{phantom::DefectKind::across, gap_mm, gap_deficit, 1.0, std::nullopt};
    if (defect == "break") choice.with_break = true;
    const phantom::Description d = family == "clean"  ? families::clean_film(seed, choice)
                                   : family == "hard" ? families::hard_film(seed, choice)
                                                      : families::usual_film(seed, choice);
    const phantom::Simulated s = phantom::simulate(d);
    Case opened;
    opened.film = s.film;
    opened.reading = s.reading;
    opened.reading_file = "simulated";
    const std::clock_t start = std::clock();
    const Result result = measure(opened);
    times.push_back(static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC);
    seconds += times.back();
    for (std::size_t c = 0; c < result.canals.size(); ++c) {
      const CanalResult& got = result.canals[c];
      const phantom::TrueCanal& truth = s.truth.canals[c];
      if (!truth.filled) continue;
      ++fills;
      if (!got.terminus) {
        ++refused;
        if (verbose)
          std::printf("%llu %s refused: %s\n", static_cast<unsigned long long>(seed), got.name.c_str(),
                      got.not_assessable.front().text.c_str());
        continue;
      }
      const double error = got.terminus->to_apex_mm - truth.terminus_to_apex_mm;
      terminus.add(error, got.terminus->standard_uncertainty_mm);
      outline.add(error, std::hypot(got.terminus->parts[0].standard_uncertainty_mm,
                                    got.terminus->parts[3].standard_uncertainty_mm));
      if (std::fabs(error) > 0.3) {
        ++gross;
        if (!got.warnings.empty()) ++gross_warned;
      }
      if (!got.warnings.empty()) ++warned;
      if (got.coronal_level_mm)
        coronal.add(got.coronal_level_mm->value - truth.coronal_level_mm,
                    got.coronal_level_mm->standard_uncertainty);
      Sample own;
      for (const WidthAt& w : got.width) {
        const double t = true_width(truth, w.at_mm);
        if (std::isnan(t)) continue;
        width.add(w.width_mm - t, w.standard_uncertainty_mm);
        own.add(w.width_mm - t, w.standard_uncertainty_mm);
      }
      const auto taper = [](Sample& into, const std::optional<Quantity>& q, double t) {
        if (q) into.add(q->value - t, q->standard_uncertainty);
      };
      taper(overall, got.taper.overall, truth.taper_overall);
      taper(apical, got.taper.apical, truth.taper_apical);
      taper(middle, got.taper.middle, truth.taper_middle);
      taper(coronal_taper, got.taper.coronal, truth.taper_coronal);
      std::vector<bool> met(truth.voids.size(), false);
      std::vector<double> best_score(truth.voids.size(), 0.0);
      int false_here = 0;
      if (got.voids) {
        for (const Void& v : *got.voids) {
          bool hit = false;
          for (std::size_t t = 0; t < truth.voids.size(); ++t) {
            const auto& tv = truth.voids[t];
            if (v.from_mm > tv.to_mm + 0.15 || v.to_mm < tv.from_mm - 0.15) continue;
            hit = true;
            best_score[t] = std::max(best_score[t], v.score);
            if (v.score < 5.0) continue;
            if (met[t]) continue;
            met[t] = true;
            void_place.add(0.5 * (v.from_mm + v.to_mm) - 0.5 * (tv.from_mm + tv.to_mm), 0.0);
            void_length.add(v.length_mm.value - tv.length_mm, v.length_mm.standard_uncertainty);
            void_deficit.add(
                v.deficit.value - (v.kind == VoidKind::across ? tv.deficit_section : tv.deficit_point),
                v.deficit.standard_uncertainty);
          }
          if (hit) continue;
          false_scores.push_back(v.score);
          if (v.score >= 5.0) ++false_here;
        }
      }
      false_voids += false_here;
      true_scores.insert(true_scores.end(), best_score.begin(), best_score.end());
      gaps += static_cast<int>(truth.voids.size());
      gaps_found += static_cast<int>(std::count(met.begin(), met.end(), true));
      std::vector<bool> broken(truth.breaks.size(), false);
      for (const TaperBreak& b : got.taper.breaks) {
        bool hit = false;
        for (std::size_t t = 0; t < truth.breaks.size(); ++t)
          if (std::fabs(truth.breaks[t].at_mm - b.at_mm) < 0.4) hit = broken[t] = true;
        if (!hit) ++false_breaks;
      }
      breaks += static_cast<int>(truth.breaks.size());
      breaks_found += static_cast<int>(std::count(broken.begin(), broken.end(), true));
      if (verbose) {
        double sum = 0, squares = 0;
        for (const double e : own.errors) {
          sum += e;
          squares += e * e;
        }
        const double n = static_cast<double>(std::max<std::size_t>(1, own.errors.size()));
        std::printf(
            "%llu %s true %6.3f error %7.3f u %.3f | coronal %6.3f | width bias %7.4f rms %.4f of %.2f | "
            "taper %7.4f | false voids %d breaks %zu voids",
            static_cast<unsigned long long>(seed), got.name.c_str(), truth.terminus_to_apex_mm, error,
            got.terminus->parts[0].standard_uncertainty_mm,
            got.coronal_level_mm->value - truth.coronal_level_mm, sum / n, std::sqrt(squares / n),
            truth.width.empty() ? 0.0 : truth.width[truth.width.size() / 2].width_mm,
            got.taper.overall ? got.taper.overall->value - truth.taper_overall : -9.0, false_here,
            got.taper.breaks.size());
        if (got.voids)
          for (const Void& v : *got.voids)
            if (v.score > 3.0)
              std::printf(" [%.2f-%.2f d%.2f s%.1f k%d]", v.from_mm, v.to_mm, v.deficit.value, v.score,
                          static_cast<int>(v.kind));
        for (const auto& v : truth.voids) std::printf(" (true %.2f-%.2f d%.2f)", v.from_mm, v.to_mm, v.deficit_section);
        for (const auto& b : truth.breaks) std::printf(" {true %.2f %+.3f}", b.at_mm, b.step_mm);
        for (const TaperBreak& b : got.taper.breaks)
          std::printf(" {%s %.2f %+.3f s%.1f}", b.kind.c_str(), b.at_mm, b.step_mm.value, b.score);
        for (const Note& note : got.warnings) std::printf(" <%s>", note.code.c_str());
        std::printf(" | blur %.3f/%.3f\n", got.film.blur_mm.value_or(0.0), s.truth.blur_mm);
      }
    }
  }
  std::printf(
      "%s: %d films, %d fills, %d refused, %d with a warning, %d gross terminus errors (> 0.3 mm), %d of "
      "them with a warning; %.1f ms of processor a film (median %.1f)\n",
      family.c_str(), count, fills, refused, warned, gross, gross_warned, 1e3 * seconds / count,
      1e3 * quantile(times, 0.5));
  print("terminus, mm", terminus);
  print("terminus, outline, mm", outline);
  print("coronal level, mm", coronal);
  print("width, mm", width);
  print("taper overall", overall);
  print("taper apical", apical);
  print("taper middle", middle);
  print("taper coronal", coronal_taper);
  print("void place, mm", void_place);
  print("void length, mm", void_length);
  print("void deficit", void_deficit);
  std::printf("  voids: %d of %d found, %d false at score 5; breaks: %d of %d found, %d false\n", gaps_found,
              gaps, false_voids, breaks_found, breaks, false_breaks);
  if (!true_scores.empty()) {
    std::sort(false_scores.rbegin(), false_scores.rend());
    const auto allowed = static_cast<std::size_t>(0.1 * fills);
    const double limit = allowed < false_scores.size() ? false_scores[allowed] : 0.0;
    const auto found = std::count_if(true_scores.begin(), true_scores.end(), [&](double s) { return s > limit; });
    std::printf("  at 0.1 false voids a fill: %ld of %zu found, above a score of %.2f\n", static_cast<long>(found),
                true_scores.size(), limit);
  }
  return 0;
}
