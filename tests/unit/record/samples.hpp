#pragma once

#include <string>

#include <nlohmann/json.hpp>

namespace canalrule_test {

/// A reading that uses every field of the contract, and unknown fields at every level.
inline const std::string full_reading = R"({
  "schema": "canalrule.reading/1",
  "image": { "file": "molar.png",
             "sha256": "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff",
             "columns": 1100, "rows": 1500, "sensor": "size 2" },
  "reader": "A1",
  "tooth": "36",
  "note": "second film of the visit",
  "radiopaque": "bright",
  "response": "log",
  "scale": [
    { "kind": "known-length", "points": [[10, 20], [10.5, 400.25], [30, 720]], "length_mm": 21.0,
      "length_uncertainty_mm": 0.25, "remark": "file in ML" },
    { "kind": "known-width", "points": [[100, 20], [120, 20]], "width_mm": 0.5,
      "width_uncertainty_mm": 0.01 },
    { "kind": "carried-length", "points": [[1, 2], [3, 400]],
      "from": { "reading": "working-length.reading.json", "points": [[5, 6], [7, 410]], "day": 3 } }
  ],
  "canals": [
    { "name": "ML", "path": [[300, 100], [310, 500.5], [330, 900]], "apex": [331, 905],
      "apex_uncertainty_mm": 0.2, "apex_marks": [[331, 904], [330, 906], [332, 905.5]],
      "planned": { "tip_diameter_mm": 0.25, "taper": 0.08, "working_length_mm": 20.0, "backfill_from_mm": 5.0,
                   "step": { "depth": [1, null, "x"] } },
      "coronal_reference": [295, 60], "colour": "blue" },
    { "name": "MB", "path": [[400, 100], [410, 900]], "apex": [411, 905], "line": "proposed" }
  ],
  "zone": { "b": [true, 1e-9], "a": 12345678901234567890 }
})";

inline nlohmann::json full_reading_json() { return nlohmann::json::parse(full_reading); }

}  // namespace canalrule_test
