#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <canalrule/grade/points.hpp>

namespace canalrule {

namespace {

double chance_of_at_least(const std::vector<Band>& bands, const std::vector<double>& chance, double points) {
  double below = 0.0;
  for (std::size_t i = 0; i < bands.size(); ++i)
    if (bands[i].points < points) below += chance[i];
  return 1.0 - below;
}

}  // namespace

Earned earned(const std::vector<Band>& bands, const std::vector<double>& chance, std::size_t own,
              CloseCall rule, double confidence) {
  ensure(!bands.empty() && chance.size() == bands.size() && own < bands.size(), "each band has its chance");
  Earned result;
  double fewest = bands.front().points;
  double mean = 0.0;
  for (std::size_t i = 0; i < bands.size(); ++i) {
    fewest = std::min(fewest, bands[i].points);
    mean += chance[i] * bands[i].points;
  }
  result.least = fewest;
  result.most = bands[own].points;
  for (const Band& band : bands) {
    const double reached = chance_of_at_least(bands, chance, band.points);
    if (reached >= confidence) result.least = std::max(result.least, band.points);
    if (reached > 1.0 - confidence) result.most = std::max(result.most, band.points);
  }
  result.sureness = result.least == result.most ? Sureness::sure : Sureness::too_close_to_call;
  switch (rule) {
    case CloseCall::benefit_of_the_doubt:
      result.points = result.most;
      break;
    case CloseCall::no_benefit:
      result.points = result.least;
      break;
    case CloseCall::nearest_band:
      result.points = std::clamp(bands[own].points, result.least, result.most);
      break;
    case CloseCall::expected_points:
      result.points = std::clamp(mean, result.least, result.most);
      break;
  }
  return result;
}

Applied applied(double chance, FigureMeets figure, CloseCall rule, double confidence) {
  Applied result;
  result.least = chance >= confidence ? 1.0 : 0.0;
  result.most = chance > 1.0 - confidence ? 1.0 : 0.0;
  result.sureness = result.least == result.most ? Sureness::sure : Sureness::too_close_to_call;
  double wanted = 0.0;
  switch (rule) {
    case CloseCall::benefit_of_the_doubt:
      wanted = result.least;
      break;
    case CloseCall::no_benefit:
      wanted = result.most;
      break;
    case CloseCall::nearest_band:
      wanted = figure == FigureMeets::yes ? 1.0 : 0.0;
      break;
    case CloseCall::expected_points:
      wanted = chance;
      break;
  }
  result.share = std::clamp(wanted, result.least, result.most);
  return result;
}

bool lies_between(double value, const std::optional<Limit>& lower, const std::optional<Limit>& upper) {
  if (lower && (lower->inclusive ? value < lower->value : value <= lower->value)) return false;
  return !(upper && (upper->inclusive ? value > upper->value : value >= upper->value));
}

}  // namespace canalrule
