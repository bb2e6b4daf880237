#include "findings.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "film_rows.hpp"

namespace canalrule_benchmark {

using nlohmann::json;

namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();

double mean_of(const std::vector<double>& v) {
  double sum = 0.0;
  for (const double x : v) sum += x;
  return v.empty() ? none : sum / static_cast<double>(v.size());
}

double rms_of(const std::vector<double>& v) {
  double sum = 0.0;
  for (const double x : v) sum += x * x;
  return v.empty() ? none : std::sqrt(sum / static_cast<double>(v.size()));
}

/// The least score that at most 0.1 of the films reach.
double one_in_ten(std::vector<double> scores, std::size_t films) {
  std::sort(scores.begin(), scores.end(), std::greater<>());
  const auto allowed = static_cast<std::size_t>(0.1 * static_cast<double>(films));
  return scores.size() > allowed ? std::nextafter(scores[allowed], 1e9) : 0.0;
}

void collect(Errors& into, const json& canal, const std::string& figure) {
  if (figure == "width") {
    if (canal.contains("width"))
      for (const json& pair : canal["width"]) into.add(pair);
  } else if (figure == "terminus" || figure == "coronal") {
    if (canal.contains(figure)) into.add(canal[figure]);
  } else if (figure == "step" || figure == "narrowing") {
    if (canal.contains("breaks") && canal["breaks"].contains(figure)) into.add(canal["breaks"][figure]);
  } else if (canal.contains("taper")) {
    const std::string name = figure == "coronal taper" ? "coronal" : figure;
    if (canal["taper"].contains(name)) into.add(canal["taper"][name]);
  }
}

bool in_range(const json& canal, const GapRange& range) {
  if (!canal.contains("gaps")) return false;
  const json& gap = canal["gaps"].front();
  return gap["length"] >= range.length_from && gap["length"] < range.length_to &&
         gap["deficit"] >= range.deficit_from && gap["deficit"] < range.deficit_to;
}

bool hit(const json& canal, double threshold) {
  if (canal.contains("found"))
    for (const json& v : canal["found"])
      if (v["hit"].get<bool>() && v["score"].get<double>() >= threshold) return true;
  return false;
}

}  // namespace

void Errors::add(const json& pair) {
  error.push_back(pair[0]);
  uncertainty.push_back(pair[1]);
}
double Errors::bias() const { return mean_of(error); }
double Errors::rms() const { return rms_of(error); }
double Errors::quantile(double share) const {
  if (error.empty()) return none;
  std::vector<double> size;
  for (const double e : error) size.push_back(std::abs(e));
  std::sort(size.begin(), size.end());
  return size[std::min(size.size() - 1, static_cast<std::size_t>(share * static_cast<double>(size.size())))];
}
std::vector<double> Errors::standardised() const {
  std::vector<double> z;
  for (std::size_t i = 0; i < error.size(); ++i)
    if (uncertainty[i] > 0.0) z.push_back(error[i] / uncertainty[i]);
  return z;
}
double Errors::standardised_rms() const { return rms_of(standardised()); }
double Errors::covered() const {
  std::vector<double> inside;
  for (const double z : standardised()) inside.push_back(std::abs(z) <= 2.0 ? 1.0 : 0.0);
  return mean_of(inside);
}

bool flagged(const json& canal) {
  for (const json& code : canal["warnings"])
    if (is_flag(code)) return true;
  return false;
}

Errors errors_of(const Rows& rows, const std::string& figure, Which which) {
  Errors errors;
  for (const json& row : rows)
    for (const json& canal : row["canals"])
      if (which == Which::all || (which == Which::flagged) == flagged(canal)) collect(errors, canal, figure);
  return errors;
}

Count count_of(const Rows& rows) {
  constexpr double gross_mm = 0.3;
  Count count;
  for (const json& row : rows)
    for (const json& canal : row["canals"]) {
      ++count.fills;
      if (canal.contains("refused")) {
        ++count.refused;
        continue;
      }
      const bool flag = flagged(canal), gross = std::abs(canal["terminus"][0].get<double>()) > gross_mm;
      count.flagged += flag ? 1 : 0;
      count.gross += gross ? 1 : 0;
      count.gross_unflagged += gross && !flag ? 1 : 0;
    }
  return count;
}

double share_flagged_or_refused(const Rows& rows) {
  const Count c = count_of(rows);
  return c.fills > 0 ? static_cast<double>(c.refused + c.flagged) / c.fills : none;
}

double Detection::share_of_ideal() const {
  return ideal_found > 0 ? static_cast<double>(compared_found) / ideal_found : none;
}

Detection detection(const Rows& without_gaps, const Rows& with_gaps, const GapRange& range) {
  std::vector<double> false_scores;
  std::size_t fills = 0;
  for (const json& row : without_gaps)
    for (const json& canal : row["canals"])
      if (canal.contains("found")) {
        ++fills;
        for (const json& v : canal["found"]) false_scores.push_back(v["score"]);
      }
  const auto threshold_of = [&](const char* observer) {
    std::vector<double> scores;
    for (const json& row : with_gaps)
      if (row.contains(observer)) scores.push_back(row[observer]["without"]);
    return one_in_ten(scores, scores.size());
  };
  Detection d;
  d.threshold = one_in_ten(false_scores, fills);
  const double ideal = threshold_of("ideal"), learning = threshold_of("learning");
  for (const json& row : with_gaps)
    for (const json& canal : row["canals"]) {
      if (!in_range(canal, range)) continue;
      const bool found = hit(canal, d.threshold);
      ++d.gaps;
      d.found += found ? 1 : 0;
      if (!row.contains("ideal")) continue;
      const auto sees = [&](const char* observer, double threshold) {
        return row[observer]["score"].get<double>() >= threshold && row[observer]["placed"].get<bool>() ? 1 : 0;
      };
      ++d.compared;
      d.compared_found += found ? 1 : 0;
      d.ideal_found += sees("ideal", ideal);
      d.learning_found += sees("learning", learning);
    }
  return d;
}

Errors gap_errors(const Rows& with_gaps, double threshold, const std::string& figure) {
  Errors errors;
  for (const json& row : with_gaps) {
    if (figure == "deficit" && row["response"] == "display") continue;
    for (const json& canal : row["canals"]) {
      if (!canal.contains("found")) continue;
      for (const json& v : canal["found"]) {
        if (!v["hit"].get<bool>() || v.contains("again") || v["score"].get<double>() < threshold) continue;
        errors.add(figure == "place" ? json::array({v["place"], 0.0}) : v[figure]);
      }
    }
  }
  return errors;
}

double rms_bound(const Rows& rows, const std::string& figure) {
  std::vector<double> bounds;
  for (const json& row : rows)
    if (row.contains("bounds")) bounds.push_back(row["bounds"][figure]);
  return rms_of(bounds);
}

double rms_where_bounded(const Rows& rows, const std::string& figure, const std::string& bound) {
  Errors errors;
  for (const json& row : rows) {
    if (!row.contains("bounds") || !row["bounds"].contains(bound)) continue;
    for (const json& canal : row["canals"]) collect(errors, canal, figure);
  }
  return errors.rms();
}

double spread_within_films(const Rows& rows, const std::string& figure) {
  std::map<std::pair<std::uint64_t, std::string>, std::vector<double>> films;
  for (const json& row : rows)
    for (const json& canal : row["canals"]) {
      Errors one;
      collect(one, canal, figure);
      if (one.count() > 0)
        films[{row["seed"].get<std::uint64_t>(), canal["name"].get<std::string>()}].push_back(
            one.error[one.count() / 2]);
    }
  double squares = 0.0, freedom = 0.0;
  for (const auto& [film, values] : films) {
    const double mean = mean_of(values);
    for (const double v : values) squares += (v - mean) * (v - mean);
    freedom += static_cast<double>(values.size()) - 1.0;
  }
  return freedom > 0.0 ? std::sqrt(squares / freedom) : none;
}

}  // namespace canalrule_benchmark
