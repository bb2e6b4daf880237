#pragma once

#include <nlohmann/json.hpp>

#include <canalrule/desk/drawing.hpp>
#include <canalrule/desk/edit.hpp>

/// Edits and drawings as JSON, for the journal. Readers throw nlohmann::json::exception or
/// std::invalid_argument for what is none; the journal says which line that is.
namespace canalrule::desk {

nlohmann::json json_of(const Drawing& drawing);
nlohmann::json json_of(const Edit& edit);
Drawing drawing_from(const nlohmann::json& value);
Edit edit_from(const nlohmann::json& value);

}  // namespace canalrule::desk
