#include "document.hpp"

#include <algorithm>
#include <array>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/report/report.hpp>
#include <cmath>
#include <cstdio>
#include <measured.hpp>
#include <span>

#include "charts.hpp"

namespace canalrule_benchmark {

using nlohmann::json;

namespace {

std::string number(double value, const char* format = "%.4f") {
  if (std::isnan(value)) return "–";
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), format, value);
  return text.data();
}
std::string percent(double share) { return std::isnan(share) ? "–" : number(100.0 * share, "%.1f %%"); }
std::string whole(int n) { return std::to_string(n); }

/// One line of the table of targets.
struct Target {
  std::string what, family, target, reached, bound, ratio;
  enum class Met { yes, no, unknown } met = Met::unknown;
};

Target::Met met(double reached, double at_most) {
  if (std::isnan(reached)) return Target::Met::unknown;
  return reached <= at_most ? Target::Met::yes : Target::Met::no;
}
Target::Met both(Target::Met a, Target::Met b) {
  if (a == Target::Met::unknown || b == Target::Met::unknown) return Target::Met::unknown;
  return a == Target::Met::yes && b == Target::Met::yes ? Target::Met::yes : Target::Met::no;
}

const Rows& rows_of(const AllRows& all, const std::string& name) {
  static const Rows nothing;
  const auto found = all.find(name);
  return found == all.end() ? nothing : found->second;
}

void add_outline_targets(std::vector<Target>& out, const AllRows& all, const std::string& family) {
  const Rows& rows = rows_of(all, family);
  const bool clean = family == "clean", hard = family == "hard";
  const Which which = hard ? Which::unflagged : Which::all;
  const Errors terminus = errors_of(rows, "terminus", which), width = errors_of(rows, "width", which);
  const Count count = count_of(rows);
  const double bound = rms_bound(rows, "terminus"), at_bound = rms_where_bounded(rows, "terminus", "terminus");
  const double width_bound = rms_bound(rows, "width"), at_width = rms_where_bounded(rows, "width", "width");
  const double straight = rms_bound(rows, "straight");
  if (hard)
    out.push_back({"terminus: median; 95 % within, not flagged", family, "0.02; 0.15 mm",
                   number(terminus.quantile(0.5)) + "; " + number(terminus.quantile(0.95)), "–", "–",
                   both(met(terminus.quantile(0.5), 0.02), met(terminus.quantile(0.95), 0.15))});
  else
    out.push_back({"terminus: RMS; 95 % within", family, clean ? "1.5 × bound" : "0.03; 0.06 mm",
                   number(terminus.rms()) + "; " + number(terminus.quantile(0.95)), number(bound),
                   number(at_bound / bound, "%.1f"),
                   clean ? met(at_bound / bound, 1.5)
                         : both(met(terminus.rms(), 0.03), met(terminus.quantile(0.95), 0.06))});
  const double gross = static_cast<double>(count.gross_unflagged) / std::max(1, count.fills);
  out.push_back({"gross terminus errors without a flag", family, clean ? "0 in 500" : hard ? "3 %" : "1 in 500",
                 whole(count.gross_unflagged) + " of " + whole(count.fills), "–", "–",
                 met(gross, clean ? 0.0 : hard ? 0.03 : 0.002)});
  const double doubted = share_flagged_or_refused(rows);
  out.push_back({"flagged or refused", family, clean ? "1 %" : hard ? "where not to be trusted" : "5 %",
                 percent(doubted), "–", "–", hard ? Target::Met::unknown : met(doubted, clean ? 0.01 : 0.05)});
  const std::array<double, 2> w = clean ? std::array{0.003, 0.001} : hard ? std::array{0.03, 0.01} : std::array{0.015, 0.004};
  out.push_back({"width: RMS; bias", family, number(w[0], "%.3f") + "; " + number(w[1], "%.3f mm"),
                 number(width.rms()) + "; " + number(width.bias()), number(width_bound) + " (cone " + number(straight) + ")",
                 number(at_width / width_bound, "%.1f"),
                 both(met(width.rms(), w[0]), met(std::abs(width.bias()), w[1]))});
  const Errors overall = errors_of(rows, "overall", which);
  double third = 0.0;
  for (const char* name : {"apical", "middle", "coronal taper"})
    third = std::max(third, errors_of(rows, name, which).rms());
  const std::array<double, 2> t = clean ? std::array{0.0004, 0.002} : hard ? std::array{0.006, 0.02} : std::array{0.0015, 0.008};
  const double taper_bound = rms_bound(rows, "taper"), at_taper = rms_where_bounded(rows, "overall", "taper");
  out.push_back({"taper: overall; worst third, RMS", family, number(t[0]) + "; " + number(t[1]),
                 number(overall.rms()) + "; " + number(third), number(taper_bound, "%.5f"),
                 number(at_taper / taper_bound, "%.1f"), both(met(overall.rms(), t[0]), met(third, t[1]))});
}

void add_gap_targets(std::vector<Target>& out, const AllRows& all, const std::string& family) {
  const Rows &without = rows_of(all, family), &with = rows_of(all, family + "-gap");
  const bool clean = family == "clean", hard = family == "hard";
  const Detection any = detection(without, with, {});
  const Detection large = detection(without, with, {0.4, 10.0, 0.1, 1.01});
  const double any_target = clean ? 0.95 : hard ? 0.75 : 0.90, large_target = clean ? 0.97 : hard ? 0.75 : 0.92;
  const auto line = [&](const char* what, double target, const Detection& d) {
    out.push_back({what, family, percent(target) + " of the ideal's",
                   percent(d.share_of_ideal()) + " (" + whole(d.found) + " of " + whole(d.gaps) + " in all)",
                   whole(d.ideal_found) + " of " + whole(d.compared) + " (learning " + whole(d.learning_found) + ")", "–", met(-d.share_of_ideal(), -target)});
  };
  line("gaps found", any_target, any);
  line("gaps ≥ 0.4 mm, deficit ≥ 0.1, found", large_target, large);
  if (hard) return;
  const Errors place = gap_errors(with, any.threshold, "place"), length = gap_errors(with, any.threshold, "length"),
               deficit = gap_errors(with, any.threshold, "deficit");
  const auto rms_line = [&](const char* what, double target, const Errors& e, const char* figure) {
    out.push_back({what, family, number(target, "%.2f"), number(e.rms()), number(rms_bound(with, figure)), "–",
                   met(e.rms(), target)});
  };
  rms_line("gap's place, mm", clean ? 0.02 : 0.05, place, "place");
  rms_line("gap's length, mm", clean ? 0.08 : 0.2, length, "length");
  rms_line("gap's deficit", clean ? 0.04 : 0.08, deficit, "deficit");
  out.push_back({"gap's deficit, bias", family, clean ? "0.01" : "0.02", number(deficit.bias()), "–", "–",
                 met(std::abs(deficit.bias()), clean ? 0.01 : 0.02)});
}

void add_break_targets(std::vector<Target>& out, const AllRows& all, const std::string& family) {
  int real = 0, hit = 0, wrong = 0, fills = 0;
  for (const json& row : rows_of(all, family + "-break"))
    for (const json& canal : row["canals"])
      if (canal.contains("breaks")) {
        real += canal["breaks"]["true"].get<int>();
        hit += canal["breaks"]["hit"].get<int>();
      }
  for (const json& row : rows_of(all, family))
    for (const json& canal : row["canals"])
      if (canal.contains("breaks")) {
        ++fills;
        wrong += canal["breaks"]["false"].get<int>();
      }
  const double found = real > 0 ? static_cast<double>(hit) / real : std::nan("");
  const double false_each = fills > 0 ? static_cast<double>(wrong) / fills : std::nan("");
  const bool clean = family == "clean";
  out.push_back({"breaks of taper found; false per fill", family, clean ? "99 %; 0.02" : "90 %; 0.1",
                 percent(found) + "; " + number(false_each, "%.3f"), "–", "–",
                 both(met(-found, clean ? -0.99 : -0.9), met(false_each, clean ? 0.02 : 0.1))});
}

void add_redrawn_targets(std::vector<Target>& out, const AllRows& all, const std::string& family) {
  const Rows& rows = rows_of(all, family + "-redrawn");
  const double terminus = spread_within_films(rows, "terminus"), width = spread_within_films(rows, "width");
  const bool clean = family == "clean", hard = family == "hard";
  out.push_back({"redrawn: SD of terminus; width", family,
                 clean ? "0.003; 0.002 mm" : hard ? "0.03 mm" : "0.006; 0.005 mm",
                 number(terminus) + "; " + number(width), "–", "–",
                 both(met(terminus, clean ? 0.003 : hard ? 0.03 : 0.006), met(width, clean ? 0.002 : hard ? 0.03 : 0.005))});
}

std::string targets_table(const AllRows& all) {
  std::string out = "| Figure | Family | Target | Reached | Bound (RMS) | Reached / bound | |\n|---|---|---|---|---|---|---|\n";
  std::vector<Target> targets;
  for (const char* family : {"clean", "usual", "hard"}) {
    add_outline_targets(targets, all, family);
    add_gap_targets(targets, all, family);
    if (std::string(family) != "hard") add_break_targets(targets, all, family);
    add_redrawn_targets(targets, all, family);
  }
  for (const Target& t : targets)
    out += "| " + t.what + " | " + t.family + " | " + t.target + " | " + t.reached + " | " + t.bound + " | " + t.ratio +
           " | " + (t.met == Target::Met::yes ? "reached" : t.met == Target::Met::no ? "**not reached**" : "–") + " |\n";
  return out;
}

std::string coverage_table(const AllRows& all) {
  std::string out = "| Figure | Family | n | Inside 2 u | RMS(error / u) | Bias | RMS | Median | 95 % |\n"
                    "|---|---|---|---|---|---|---|---|---|\n";
  const auto line = [&](const std::string& what, const std::string& family, const Errors& e) {
    if (e.count() == 0) return;
    out += "| " + what + " | " + family + " | " + whole(static_cast<int>(e.count())) + " | " + percent(e.covered()) + " | " +
           number(e.standardised_rms(), "%.2f") + " | " + number(e.bias()) + " | " + number(e.rms()) + " | " +
           number(e.quantile(0.5)) + " | " + number(e.quantile(0.95)) + " |\n";
  };
  for (const char* family : {"clean", "usual", "hard"}) {
    const std::string name = family, shown = name == "hard" ? "hard, not flagged" : name;
    for (const auto& [figure, title] :
         {std::pair{"terminus", "terminus, mm"}, {"coronal", "coronal level, mm"}, {"width", "width, mm"},
          {"overall", "taper, overall"}, {"apical", "taper, apical third"}, {"middle", "taper, middle third"},
          {"coronal taper", "taper, coronal third"}})
      line(title, shown, errors_of(rows_of(all, name), figure, name == "hard" ? Which::unflagged : Which::all));
    if (name != "hard")
      for (const auto& [figure, title] : {std::pair{"step", "step of the width, mm"}, {"narrowing", "narrowing by a step, mm"}})
        line(title, name, errors_of(rows_of(all, name + "-break"), figure, Which::all));
    const double threshold = detection(rows_of(all, name), rows_of(all, name + "-gap"), {}).threshold;
    line("gap's length, mm", name, gap_errors(rows_of(all, name + "-gap"), threshold, "length"));
    line("gap's deficit", name, gap_errors(rows_of(all, name + "-gap"), threshold, "deficit"));
  }
  return out;
}

std::string gap_table(const AllRows& all, const std::string& family) {
  constexpr std::array lengths{0.1, 0.2, 0.4, 0.8, 2.01}, deficits{0.0, 0.05, 0.1, 0.3, 1.01};
  std::string out = "| Deficit of the section \\ length, mm |";
  for (std::size_t i = 0; i + 1 < lengths.size(); ++i)
    out += " " + number(lengths[i], "%.1f") + " to " + number(lengths[i + 1], "%.1f") + " |";
  out += "\n|---|---|---|---|---|\n";
  for (std::size_t j = 0; j + 1 < deficits.size(); ++j) {
    out += "| " + number(deficits[j], "%.2f") + " to " + number(std::min(1.0, deficits[j + 1]), "%.2f") + " |";
    for (std::size_t i = 0; i + 1 < lengths.size(); ++i) {
      const Detection d = detection(rows_of(all, family), rows_of(all, family + "-gap"),
                                    {lengths[i], lengths[i + 1], deficits[j], deficits[j + 1]});
      out += " " + whole(d.found) + " of " + whole(d.gaps) + "; " + whole(d.compared_found) + " : " +
             whole(d.ideal_found) + " |";
    }
    out += "\n";
  }
  return out;
}

void write_text(const std::filesystem::path& file, const std::string& text) {
  canalrule::write_whole(file, std::string_view(text));
}

std::string label_of(const Part& part, std::size_t member) {
  return part.labels.empty() ? number(part.settings[member], "%.6g") : part.labels[member];
}

/// A chart and its table: error against what is varied.
std::string sweep(const Part& part, const Rows& rows, const std::filesystem::path& charts) {
  std::string out = "\n![" + part.varied + "](accuracy/" + part.name + ".svg)\n\n| " + part.varied +
                    " | n | Refused | Terminus: median | RMS | Width: RMS | bias | Taper: RMS |\n|---|---|---|---|---|---|---|---|\n";
  std::vector<std::string> labels;
  Series median{"terminus, median", {}}, width{"width, RMS", {}};
  for (std::size_t m = 0; m < part.settings.size(); ++m) {
    Rows some;
    for (const json& row : rows)
      if (row["member"].get<std::size_t>() == m) some.push_back(row);
    const Errors t = errors_of(some, "terminus", Which::all), w = errors_of(some, "width", Which::all);
    labels.push_back(label_of(part, m));
    median.values.push_back(t.quantile(0.5));
    width.values.push_back(w.rms());
    const Count count = count_of(some);
    out += "| " + labels.back() + " | " + whole(count.fills) + " | " + whole(count.refused) + " | " +
           number(t.quantile(0.5)) + " | " + number(t.rms()) + " | " + number(w.rms()) + " | " + number(w.bias()) + " | " +
           number(errors_of(some, "overall", Which::all).rms(), "%.5f") + " |\n";
  }
  write_text(charts / (part.name + ".svg"), line_chart("Error, mm (usual films)", part.varied, labels, {median, width}));
  return out;
}

struct Worst {
  std::string part;
  std::uint64_t seed = 0;
  json canal;
  double error = 0.0;
};

std::string worst_films(const std::vector<Part>& parts, const AllRows& all, const std::filesystem::path& charts) {
  constexpr std::size_t shown = 10, most_bytes = 60000;
  std::vector<Worst> worst;
  for (const char* family : {"clean", "usual", "hard"})
    for (const json& row : rows_of(all, family))
      for (const json& canal : row["canals"])
        if (canal.contains("terminus")) worst.push_back({family, row["seed"], canal, canal["terminus"][0]});
  std::stable_sort(worst.begin(), worst.end(),
                   [](const Worst& a, const Worst& b) { return std::abs(a.error) > std::abs(b.error); });
  if (worst.size() > shown) worst.resize(shown);
  std::string out;
  for (const Worst& w : worst) {
    const auto part = std::find_if(parts.begin(), parts.end(), [&](const Part& p) { return p.name == w.part; });
    const auto simulated = canalrule::phantom::simulate(part->draw(*part, w.seed, 0));
    const canalrule::Result result = canalrule::measure(canalrule_test::case_of(simulated));
    const std::vector<std::uint8_t> png = shrunk_png(canalrule::png_picture(simulated.film, result), most_bytes);
    const std::string file = w.part + "-" + std::to_string(w.seed) + ".png";
    canalrule::write_whole(charts / file, std::span<const std::uint8_t>(png));
    std::string codes;
    for (const json& code : w.canal["warnings"]) codes += (codes.empty() ? "" : ", ") + code.get<std::string>();
    out += "\n" + w.part + ", seed " + std::to_string(w.seed) + ", canal " + w.canal["name"].get<std::string>() +
           ": terminus off by " + number(w.error, "%+.3f mm") + "; " +
           (codes.empty() ? std::string("no warning") : "warnings: " + codes) + ".\n\n![](accuracy/" + file + ")\n";
  }
  return out;
}

std::string histograms(const AllRows& all, const std::filesystem::path& charts) {
  std::string out;
  for (const char* family : {"clean", "usual", "hard"}) {
    const Rows& rows = rows_of(all, family);
    const Which which = std::string(family) == "hard" ? Which::unflagged : Which::all;
    for (const auto& [figure, limit] : {std::pair{"terminus", 0.1}, {"width", 0.05}}) {
      const Errors e = errors_of(rows, figure, which);
      if (e.count() == 0) continue;
      const std::string name = std::string(family) + "-" + figure;
      write_text(charts / (name + ".svg"),
                 histogram(std::string(family) + ": error of the " + figure, "mm", e.error, limit, Over::nothing));
      write_text(charts / (name + "-over-u.svg"), histogram(std::string(family) + ": " + figure + ", error / u",
                                                            "standard uncertainties", e.standardised(), 4.0, Over::normal));
      out += "![](accuracy/" + name + ".svg) ![](accuracy/" + name + "-over-u.svg)\n";
    }
  }
  return out;
}

std::string times(const AllRows& all) {
  std::string out = "| Family | Median, ms | 95 %, ms |\n|---|---|---|\n";
  for (const char* family : {"clean", "usual", "hard"}) {
    Errors ms;
    for (const json& row : rows_of(all, family)) ms.add(json::array({row["ms"], 0.0}));
    out += std::string("| ") + family + " | " + number(ms.quantile(0.5), "%.0f") + " | " + number(ms.quantile(0.95), "%.0f") + " |\n";
  }
  return out;
}

}  // namespace

void write_document(const std::vector<Part>& parts, const AllRows& rows, const std::filesystem::path& folder,
                    const std::filesystem::path& remains) {
  const std::filesystem::path charts = folder / "accuracy";
  std::filesystem::create_directories(charts);
  for (const auto& old : std::filesystem::directory_iterator(charts))
    if (old.path().extension() == ".svg" || old.path().extension() == ".png") std::filesystem::remove(old.path());
  std::string out =
      "# Accuracy on simulated films, against the limit\n\n"
      "Written by `accuracy_document` (`tests/benchmark`), which draws the films from their seeds, measures them as the\n"
      "program does and reckons what any method could have reached on them. How the films are made: "
      "[phantom.md](phantom.md);\nhow they are measured: [method.md](method.md). All lengths in mm; errors are measured "
      "minus true. The simulated scale\nand apex mark are exact, so their parts of the uncertainty of a terminus, a "
      "level and a width\nare left out.\n\n"
      "*clean*: no texture, `log`, 16 bit, nothing clipped. *usual*: textured bone, noise, 8 or 12 bit, any response. *hard*: overlaps, "
      "merging\ncanals, halos, restorations, faint fills, clipping, sealer pressed out; figures of hard films are over "
      "fills without a\nflag (a warning that puts the outline in doubt).\n\n"
      "**The bound** is Cramér and Rao's, from the derivatives of the phantom's own film without noise and the known\n"
      "covariance of noise, bone's pattern and the fill's unevenness. For the terminus the length of the tip's rounding "
      "and the\ndiameter at every 0.5 mm are free, for a width the diameter at every 0.5 mm, and for both contrast, blur, "
      "place, direction\nand a curved background; \"cone\" and the taper's bound take the fill to be a cone, as it is. "
      "The response is taken as known.\n\n"
      "**The ideal observer** of gaps knows the fill, the noise and the gap's shape, and looks for its place with the "
      "matched\nfilter behind the inverse covariance. Program and observer are held to the same 0.1 false gaps per fill, "
      "each by its own\nthreshold on films without gaps; a gap counts as found if it lies within 0.15 mm of the true one.\n"
      "The *learning* observer knows noise and the gap's shape too, but must learn the fill from the same film as any "
      "method\nmust: contrast, blur, line, the diameter at every 0.5 mm, and the background at every 1.5 mm. Neither looks for "
      "more than\none shape, as the program does.\n\n"
      "## Targets\n\n" +
      targets_table(rows) + "\n## Truth within the stated uncertainty\n\nThe target is 93 to 98 % and 0.8 to 1.2.\n\n" + coverage_table(rows) +
      "\n## Gaps by length and deficit\n\nLengths even in their logarithm from 0.1 to 2 mm, deficits from 0.05 to 1; half "
      "across the canal, a quarter inside it, a\nquarter along a wall. In each field: found of all; found by the program : "
      "by the ideal observer, on the films that the\nobserver looked at.\n";
  for (const char* family : {"clean", "usual", "hard"}) out += std::string("\n*") + family + "*\n\n" + gap_table(rows, family);
  out += "\n## What the error depends on\n";
  for (const Part& part : parts)
    if (!part.settings.empty() && part.name.find("redrawn") == std::string::npos && !rows_of(rows, part.name).empty())
      out += sweep(part, rows_of(rows, part.name), charts);
  out += "\n## Errors\n\n" + histograms(rows, charts) + "\n## The ten worst termini\n" + worst_films(parts, rows, charts) +
         "\n## Time\n\nProcessor time of the measuring alone, one core of a server of its day, shared with other work.\n\n" + times(rows);
  if (std::filesystem::exists(remains)) {
    const auto bytes = canalrule::read_whole(remains, 1000000);
    out += "\n" + std::string(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  }
  write_text(folder / "accuracy.md", out);
}

}  // namespace canalrule_benchmark
