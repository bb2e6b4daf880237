#pragma once

#include <opencv2/core.hpp>

#include <canalrule/base/point.hpp>

namespace canalrule::desk {

/// The path of least cost through an image of costs per pixel of way (CV_32FC1, > 0), from pixel centre to
/// pixel centre in steps to the 16 nearest directions (Dijkstra, Numer. Math. 1959;1:269-271). Ends outside
/// the image are taken at its edge.
Polyline least_path(const cv::Mat& cost, Point from, Point to);

}  // namespace canalrule::desk
