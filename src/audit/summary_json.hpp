#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include <canalrule/audit/summary.hpp>
#include <canalrule/base/fault.hpp>

/// How the parts of a summary are written; null for what is missing.
namespace canalrule::audit {

using nlohmann::ordered_json;

/// To how many decimals: far finer than any interval, coarse enough that the last digits of floating point
/// don't show. Squares of figures need more.
enum class Decimals { figure = 6, variance = 10 };

inline ordered_json number(double value, Decimals decimals = Decimals::figure) {
  ensure(std::isfinite(value), "every number of a summary is finite");
  const double steps = std::pow(10.0, static_cast<int>(decimals));
  return std::round(value * steps) / steps;
}

inline ordered_json number(const std::optional<double>& value, Decimals decimals = Decimals::figure) {
  return value ? number(*value, decimals) : ordered_json(nullptr);
}

inline ordered_json text_or_null(const std::string& text) {
  return text.empty() ? ordered_json(nullptr) : ordered_json(text);
}

template <class Item, class Write>
ordered_json list(const std::vector<Item>& items, Write write) {
  ordered_json out = ordered_json::array();
  for (const Item& item : items) out.push_back(write(item));
  return out;
}

/// Value and interval side by side; the reason only where one of them is missing.
inline ordered_json estimate_json(const statistics::Estimate& estimate) {
  ordered_json out{{"value", number(estimate.value)},
                   {"low", estimate.interval ? number(estimate.interval->low) : ordered_json(nullptr)},
                   {"high", estimate.interval ? number(estimate.interval->high) : ordered_json(nullptr)}};
  if (!estimate.reason.empty()) out["reason"] = estimate.reason;
  return out;
}

ordered_json agreement_json(const Agreement& agreement);

}  // namespace canalrule::audit
