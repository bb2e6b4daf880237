// Answers what the geometry makes of given points, so that an independent program can be held against it:
// dump_strip REQUEST.json, the answer as JSON on stdout. The request may hold
//   "spline": {"t": [], "y": [], "at": []}                  -> "spline": {"value": [], "slope": []}
//   "path":   {"points": [[x, y]], "apex": [x, y], "aspect": 1, "at": [s]}
//             -> "path": {"first", "last", "place": [[x, y]], "direction": [[dx, dy]]}
//   "strip":  {"image": FILE, "columns", "rows", "first_s", "first_n", "step", "strip_rows", "strip_columns"}
//             along the path; FILE holds 32-bit floats -> "strip": {"value": [[]], "usable": [[]]}
#include <fstream>
#include <iostream>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include <canalrule/geometry/path.hpp>
#include <canalrule/geometry/spline.hpp>
#include <canalrule/geometry/strip.hpp>

namespace {

using canalrule::CanalPath;
using nlohmann::json;

json spline_answer(const json& asked) {
  const canalrule::NaturalSpline spline(asked.at("t").get<std::vector<double>>(),
                                        asked.at("y").get<std::vector<double>>());
  json answer{{"value", json::array()}, {"slope", json::array()}};
  for (const double t : asked.at("at").get<std::vector<double>>()) {
    answer["value"].push_back(spline.value(t));
    answer["slope"].push_back(spline.slope(t));
  }
  return answer;
}

canalrule::Point point_of(const json& xy) { return {xy.at(0).get<double>(), xy.at(1).get<double>()}; }

CanalPath path_of(const json& asked) {
  canalrule::Polyline points;
  for (const json& xy : asked.at("points")) points.push_back(point_of(xy));
  return {points, point_of(asked.at("apex")), asked.at("aspect").get<double>()};
}

json path_answer(const CanalPath& path, const std::vector<double>& at) {
  json answer{{"first", path.first_px()},
              {"last", path.last_px()},
              {"place", json::array()},
              {"direction", json::array()}};
  for (const double s : at) {
    const canalrule::Point place = path.at(s);
    const canalrule::Point direction = path.direction(s);
    answer["place"].push_back({place.x, place.y});
    answer["direction"].push_back({direction.x, direction.y});
  }
  return answer;
}

json strip_answer(const CanalPath& path, const json& asked) {
  cv::Mat plane(asked.at("rows").get<int>(), asked.at("columns").get<int>(), CV_32FC1);
  std::ifstream in(asked.at("image").get<std::string>(), std::ios::binary);
  in.read(reinterpret_cast<char*>(plane.data),
          static_cast<std::streamsize>(plane.total() * plane.elemSize()));
  if (!in) throw std::runtime_error("the image is shorter than its rows and columns say");
  const canalrule::StripGrid grid{asked.at("first_s").get<double>(), asked.at("first_n").get<double>(),
                                  asked.at("step").get<double>(), asked.at("strip_rows").get<int>(),
                                  asked.at("strip_columns").get<int>()};
  const canalrule::Strip strip = canalrule::sample_strip(plane, cv::Mat(), path, grid);
  json answer{{"value", json::array()}, {"usable", json::array()}};
  for (int i = 0; i < grid.rows; ++i) {
    const float* value = strip.value.ptr<float>(i);
    const std::uint8_t* usable = strip.usable.ptr<std::uint8_t>(i);
    answer["value"].push_back(std::vector<float>(value, value + grid.columns));
    answer["usable"].push_back(std::vector<int>(usable, usable + grid.columns));
  }
  return answer;
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 2) return 2;
  try {
    std::ifstream in(arguments[1]);
    const json request = json::parse(in);
    json answer;
    if (request.contains("spline")) answer["spline"] = spline_answer(request.at("spline"));
    if (request.contains("path")) {
      const CanalPath path = path_of(request.at("path"));
      answer["path"] = path_answer(path, request.at("path").at("at").get<std::vector<double>>());
      if (request.contains("strip")) answer["strip"] = strip_answer(path, request.at("strip"));
    }
    std::cout << answer.dump() << '\n';
  } catch (const std::exception& failure) {
    std::cerr << failure.what() << '\n';
    return 3;
  }
  return 0;
}
