#include "draw_svg.hpp"

#include <cstdint>
#include <pugixml.hpp>
#include <sstream>
#include <string_view>
#include <vector>

#include "draw_png.hpp"
#include "look.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

/// A length in points to 0.01, without trailing zeros; ASCII.
std::string number(double value) {
  std::string out = fixed(std::abs(value), 2);
  while (out.back() == '0') out.pop_back();
  if (out.back() == '.') out.pop_back();
  return value < 0.0 && out != "0" ? "-" + out : out;
}

std::string hexadecimal(const Colour& colour) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string out = "#";
  for (const std::uint8_t part : {colour.red, colour.green, colour.blue}) {
    out += digits[part >> 4U];
    out += digits[part & 15U];
  }
  return out;
}

std::string base64(const std::vector<std::uint8_t>& bytes) {
  constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    std::uint32_t three = 0;
    for (std::size_t j = 0; j < 3; ++j) three = (three << 8U) | (i + j < bytes.size() ? bytes[i + j] : 0U);
    for (std::size_t j = 0; j < 4; ++j) {
      const bool padding = i + j > bytes.size();
      out += padding ? '=' : letters[(three >> (18U - 6U * j)) & 63U];
    }
  }
  return out;
}

void set(pugi::xml_node node, const char* name, const std::string& value) {
  node.append_attribute(name).set_value(value.c_str());
}

std::string point_list(const Polyline& points) {
  std::string out;
  for (const Point& point : points) {
    if (!out.empty()) out += ' ';
    out += number(point.x) + "," + number(point.y);
  }
  return out;
}

void set_fill(pugi::xml_node node, const std::optional<Colour>& fill) {
  set(node, "fill", fill ? hexadecimal(*fill) : "none");
  if (fill && fill->opacity < 1.0) set(node, "fill-opacity", number(fill->opacity));
}

void set_stroke(pugi::xml_node node, const Stroke& stroke) {
  set(node, "stroke", hexadecimal(stroke.colour));
  set(node, "stroke-width", number(stroke.width));
  if (stroke.colour.opacity < 1.0) set(node, "stroke-opacity", number(stroke.colour.opacity));
  set(node, "stroke-linejoin", "round");
  if (stroke.dash == Dash::dotted) set(node, "stroke-linecap", "round");
  std::string dashes;
  for (const double length : dash_lengths(stroke)) dashes += (dashes.empty() ? "" : " ") + number(length);
  if (!dashes.empty()) set(node, "stroke-dasharray", dashes);
}

class Writer {
 public:
  explicit Writer(pugi::xml_node group) : group_(group) {}

  void operator()(const Raster& raster) {
    pugi::xml_node node = group_.append_child("image");
    set(node, "x", number(raster.box.left));
    set(node, "y", number(raster.box.top));
    set(node, "width", number(raster.box.width));
    set(node, "height", number(raster.box.height));
    set(node, "preserveAspectRatio", "none");
    set(node, "xlink:href", "data:image/png;base64," + base64(encode_grey_png(raster.image)));
  }

  void operator()(const Polygon& polygon) {
    pugi::xml_node node = group_.append_child("polygon");
    set(node, "points", point_list(polygon.points));
    set_fill(node, polygon.fill);
    if (polygon.stroke) set_stroke(node, *polygon.stroke);
  }

  void operator()(const Line& line) {
    if (line.casing) draw(line.points, *line.casing);
    draw(line.points, line.stroke);
  }

  void operator()(const Text& text) {
    if (text.halo) {
      pugi::xml_node behind = write(text);
      set_stroke(behind, Stroke{*text.halo, halo_width, Dash::solid});
      set_fill(behind, text.halo);
      set(behind, "aria-hidden", "true");
    }
    set_fill(write(text), text.colour);
  }

 private:
  void draw(const Polyline& points, const Stroke& stroke) {
    pugi::xml_node node = group_.append_child("polyline");
    set(node, "points", point_list(points));
    set(node, "fill", "none");
    set_stroke(node, stroke);
  }

  pugi::xml_node write(const Text& text) {
    pugi::xml_node node = group_.append_child("text");
    set(node, "x", number(text.at.x));
    set(node, "y", number(text.at.y));
    set(node, "font-size", number(text.size));
    if (text.weight == Weight::bold) set(node, "font-weight", "bold");
    if (text.anchor != Anchor::start)
      set(node, "text-anchor", text.anchor == Anchor::middle ? "middle" : "end");
    if (text.turned_deg != 0.0) {
      set(node, "transform",
          "rotate(" + number(text.turned_deg) + " " + number(text.at.x) + " " + number(text.at.y) + ")");
    }
    node.text().set(text.text.c_str());
    return node;
  }

  pugi::xml_node group_;
};

void add_clip(pugi::xml_node definitions, const std::string& id, const Box& box) {
  pugi::xml_node clip = definitions.append_child("clipPath");
  set(clip, "id", id);
  pugi::xml_node rectangle = clip.append_child("rect");
  set(rectangle, "x", number(box.left));
  set(rectangle, "y", number(box.top));
  set(rectangle, "width", number(box.width));
  set(rectangle, "height", number(box.height));
}

}  // namespace

pugi::xml_node append_svg(pugi::xml_node parent, const Scene& scene, const std::string& prefix) {
  constexpr double mm_per_point = 25.4 / 72.0;
  pugi::xml_node svg = parent.append_child("svg");
  set(svg, "xmlns", "http://www.w3.org/2000/svg");
  set(svg, "xmlns:xlink", "http://www.w3.org/1999/xlink");
  set(svg, "version", "1.1");
  set(svg, "width", number(scene.width * mm_per_point) + "mm");
  set(svg, "height", number(scene.height * mm_per_point) + "mm");
  set(svg, "viewBox", "0 0 " + number(scene.width) + " " + number(scene.height));
  set(svg, "role", "img");
  set(svg, "aria-labelledby", prefix + "title " + prefix + "description");
  set(svg, "font-family", font_families);

  pugi::xml_node title = svg.append_child("title");
  set(title, "id", prefix + "title");
  title.text().set(scene.title.c_str());
  pugi::xml_node description = svg.append_child("desc");
  set(description, "id", prefix + "description");
  description.text().set(scene.description.c_str());

  pugi::xml_node definitions = svg.append_child("defs");
  pugi::xml_node paper = svg.append_child("rect");
  set(paper, "width", number(scene.width));
  set(paper, "height", number(scene.height));
  set(paper, "fill", "#ffffff");
  for (const Layer& layer : scene.layers) {
    pugi::xml_node group = svg.append_child("g");
    set(group, "id", prefix + layer.name);
    if (layer.clip) {
      add_clip(definitions, prefix + layer.name + "-clip", *layer.clip);
      set(group, "clip-path", "url(#" + prefix + layer.name + "-clip)");
    }
    for (const Item& item : layer.items) std::visit(Writer(group), item);
  }
  return svg;
}

std::string draw_svg(const Scene& scene) {
  pugi::xml_document document;
  pugi::xml_node declaration = document.append_child(pugi::node_declaration);
  set(declaration, "version", "1.0");
  set(declaration, "encoding", "UTF-8");
  append_svg(document, scene, "");
  std::ostringstream out;
  document.save(out, " ", pugi::format_default, pugi::encoding_utf8);
  return std::move(out).str();
}

}  // namespace canalrule::report
