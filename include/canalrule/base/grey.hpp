#pragma once

namespace canalrule {

/// How the grey values follow the exposure that reached the sensor.
enum class Response {
  log,     ///< grey is linear in attenuation (the logarithm of the exposure ratio)
  linear,  ///< grey is linear in exposure
  display  ///< an unknown monotone curve, made for looking at
};

/// Which end of the grey scale is radiopaque.
enum class Radiopaque { bright, dark };

}  // namespace canalrule
