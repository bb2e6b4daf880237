// Opens a film as the program does and writes what it read, so that independent readers can be held
// against it: dump_film FILM GREY [UNUSABLE]. GREY gets the grey plane as 32-bit floats, UNUSABLE the mask
// as bytes; the facts go to stdout as JSON. A refusal goes to stderr, exit code 3.
#include <fstream>
#include <iostream>

#include <nlohmann/json.hpp>

#include <canalrule/base/refusal.hpp>
#include <canalrule/intake/open_film.hpp>

namespace {

using nlohmann::json;

const char* name(canalrule::SpacingKind kind) {
  switch (kind) {
    case canalrule::SpacingKind::calibrated: return "calibrated";
    case canalrule::SpacingKind::patient: return "patient";
    case canalrule::SpacingKind::imager: return "imager";
    case canalrule::SpacingKind::nominal_scanned: return "nominal_scanned";
  }
  return "";
}

const char* name(canalrule::Response response) {
  switch (response) {
    case canalrule::Response::log: return "log";
    case canalrule::Response::linear: return "linear";
    case canalrule::Response::display: return "display";
  }
  return "";
}

json facts(const canalrule::Film& film) {
  json all{{"columns", film.grey.cols},
           {"rows", film.grey.rows},
           {"lowest_grey", film.lowest_grey},
           {"highest_grey", film.highest_grey},
           {"bits_stored", film.bits_stored},
           {"row_to_column_aspect", film.row_to_column_aspect},
           {"has_unusable", !film.unusable.empty()},
           {"format", film.format},
           {"sha256", film.sha256},
           {"notes", json::array()}};
  if (film.spacing) {
    all["spacing"] = {{"row_mm", film.spacing->row_mm},
                      {"column_mm", film.spacing->column_mm},
                      {"kind", name(film.spacing->kind)},
                      {"calibration_type", film.spacing->calibration_type},
                      {"calibration_description", film.spacing->calibration_description}};
    all["spacing"]["contradicted_by_mm"] = film.spacing->contradicted_by_mm;
    if (film.spacing->magnification) all["spacing"]["magnification"] = *film.spacing->magnification;
  }
  if (film.radiopaque)
    all["radiopaque"] = *film.radiopaque == canalrule::Radiopaque::bright ? "bright" : "dark";
  if (film.response) all["response"] = name(*film.response);
  for (const canalrule::FilmNote& note : film.notes)
    all["notes"].push_back({{"code", note.code}, {"text", note.text}});
  return all;
}

void write_plane(const char* file, const cv::Mat& plane) {
  std::ofstream out(file, std::ios::binary);
  out.write(reinterpret_cast<const char*>(plane.data),
            static_cast<std::streamsize>(plane.total() * plane.elemSize()));
}

}  // namespace

int main(int count, char** arguments) {
  if (count < 3) return 2;
  try {
    const canalrule::Film film = canalrule::open_film(arguments[1]);
    write_plane(arguments[2], film.grey);
    if (count > 3 && !film.unusable.empty()) write_plane(arguments[3], film.unusable);
    std::cout << facts(film).dump(1) << '\n';
  } catch (const canalrule::Refusal& refusal) {
    std::cerr << refusal.what() << '\n';
    return 3;
  }
  return 0;
}
