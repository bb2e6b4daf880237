#pragma once

#include <canalrule/report/scene.hpp>
#include <canalrule/report/table.hpp>
#include <cstddef>
#include <optional>
#include <string>
#include <variant>
#include <vector>

/// Charts as values: what is shown, not how. Each is drawn by one function below, and its numbers are given
/// as a table by another, so that nobody has to read them off. Texts may come from files: they are cleaned
/// here. Kinds of things differ by shape and line style, never by colour alone. Without anything to show a
/// chart says so; what lies outside an axis is drawn at its edge with an arrowhead, never beyond it.
namespace canalrule::report {

/// What an axis shows. Shares are given as 0 to 1 and shown in percent.
struct Axis {
  enum class Numbers { plain, percent };
  std::string label;  ///< with its unit: "Terminus short of the apex, mm"
  Numbers numbers = Numbers::plain;
  int decimals = 1;                ///< of the figures in the table
  std::optional<double> from, to;  ///< fixed ends; without them what is shown decides
};

/// From low to high, both included.
struct Range {
  double low = 0.0, high = 0.0;
};

/// A line across a chart at a value of its axis of values, such as the limit of a criterion.
struct Reference {
  double at = 0.0;
  std::string label;
};

/// How often a figure takes which values.
struct HistogramChart {
  struct Bin {
    double from = 0.0, to = 0.0;  ///< from <= value < to
    std::size_t count = 0;
  };
  std::string title;
  Axis values;
  std::string counted = "canals";
  std::vector<Bin> bins;             ///< ascending, each beginning where the one before ends
  std::size_t below = 0, above = 0;  ///< outside all bins
  std::vector<Reference> references;
};

/// Shares with their intervals, one below the other.
struct SharesChart {
  struct Share {
    std::string label;
    double counted = 0.0;  ///< of how many
    /// The share if all that is too close to call were outside, and if it were all within; often the same.
    double lowest = 0.0, highest = 0.0;
    std::optional<Range>
        interval;  ///< what is known of the share: from the lowest's lower end to the highest's upper
  };
  std::string title;
  std::string label = "Share, %";
  std::string counted = "canals";
  std::string confidence = "95 % interval";
  std::string when_empty = "There is nothing to show.";
  std::vector<Share> shares;
};

/// Shares of several operators against their size, with the limits between which they would scatter if all
/// had the same share (Spiegelhalter, Stat Med 2005;24:1185-1202). No ranking: they stand in the order given.
struct FunnelChart {
  struct Point {
    enum class Place { inside, below, above, not_placed };
    std::string label;
    double size = 0.0;
    double lowest = 0.0, highest = 0.0;  ///< as in SharesChart
    Range limits;                        ///< the outer ones at this size
    Place place = Place::inside;
  };
  struct Limits {
    double size = 0.0;
    Range inner, outer;
  };
  std::string title;
  std::string label = "Share, %";
  std::string sized = "Effective number of canals";
  Range centre;  ///< the share of all together, lowest and highest
  std::string centre_label = "all together", inner_label = "95 % limits", outer_label = "99.8 % limits";
  std::vector<Point> points;
  std::vector<Limits> limits;  ///< ascending in size
};

/// Differences of two readings against their mean (Bland and Altman, Lancet 1986;1:307-310).
struct DifferencesChart {
  struct Pair {
    double mean = 0.0, difference = 0.0;
  };
  std::string title;
  Axis means, differences;
  std::vector<Pair> pairs;
  double mean_difference = 0.0;
  double lower_limit = 0.0, upper_limit = 0.0;  ///< limits of agreement
  std::optional<Range> mean_interval, lower_interval, upper_interval;
  std::string confidence = "95 % interval";
};

/// How much of what was looked at shows something at each place along the canal; the apex is at the bottom.
struct PlacesChart {
  struct Place {
    double from_mm = 0.0, to_mm = 0.0;  ///< distance from the radiographic apex
    std::size_t seen = 0;               ///< canals in which this place could be assessed
    std::size_t found = 0;              ///< of these, with something there
  };
  std::string title;
  std::string found = "with a void";
  std::string counted = "canals";
  std::vector<Place> places;  ///< ascending
};

/// A figure over time, one or more series.
struct CourseChart {
  struct Moment {
    std::string when;  ///< as it is shown; the moments stand in their order, evenly spaced
    std::optional<double> value;
    std::optional<Range> interval;
    double counted = 0.0;
  };
  struct Series {
    std::string name;
    std::vector<Moment> moments;  ///< as many as the first series has
  };
  std::string title;
  Axis values;
  std::string counted = "cases";
  std::string confidence = "95 % interval";
  std::vector<Series> series;  ///< at most 4
};

using Chart =
    std::variant<HistogramChart, SharesChart, FunnelChart, DifferencesChart, PlacesChart, CourseChart>;

/// The chart as a picture of `chart_width` points and as tall as it needs, text of 9 points.
Scene chart_scene(const Chart& chart);
constexpr double chart_width = 330.0;

/// Its numbers. Of a DifferencesChart these are its summary: a point is no finding.
Table chart_table(const Chart& chart);

}  // namespace canalrule::report
