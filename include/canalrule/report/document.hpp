#pragma once

#include <canalrule/report/chart.hpp>
#include <canalrule/report/scene.hpp>
#include <canalrule/report/table.hpp>
#include <string>
#include <variant>
#include <vector>

/// A page of a report as a value, drawn to HTML for the screen and to PDF for paper. Every text in it may
/// come from a file: what is written holds no markup but our own.
namespace canalrule::report {

struct Paragraph {
  enum class Kind {
    plain,
    small,   ///< a remark
    caution  ///< set apart by a bar at its side: what a reader must not overlook
  };
  Words words;
  Kind kind = Kind::plain;
};

/// Names and what belongs to them.
struct Facts {
  struct Fact {
    std::string name;
    Words words;
  };
  std::vector<Fact> facts;
};

struct Bullets {
  std::vector<Words> items;
};

/// A picture drawn for this page. Its title and description are what a screen reader says.
struct Drawing {
  enum class Lies { in_the_column, on_a_sheet_of_its_own };  ///< on paper; such a sheet lies across
  Scene scene;
  std::string caption;  ///< may be empty
  Lies lies = Lies::in_the_column;
};

/// A chart with its table beside it.
struct Figure {
  Chart chart;
  std::string remark;  ///< how to read it; may be empty
};

using Block = std::variant<Paragraph, Facts, Bullets, Table, Drawing, Figure>;

struct Section {
  enum class Begins { where_it_falls, on_a_new_sheet };  ///< on paper
  std::string id;  ///< lower case with hyphens, unique within the document
  std::string heading;
  std::vector<Block> blocks = {};
  std::vector<Section> parts = {};  ///< one level only
  Begins begins = Begins::where_it_falls;
};

struct Document {
  enum class Contents { listed, left_out };
  std::string language = "en";  ///< of its texts (BCP 47)
  std::string title;
  Words lead;  ///< a line under the title; may be empty
  std::vector<Section> sections;
  std::vector<std::string> foot;  ///< last lines: program, version, what was used
  Contents contents = Contents::listed;
};

/// The document as one HTML page (UTF-8, well-formed XML as well): style inside, no script, refers to nothing
/// outside but the links that it was given. Same document, same bytes. A fault where two sections have one
/// id, or a row has not as many cells as its table has columns.
std::string html_document(const Document& document);

/// The same as a vector PDF of A4 sheets, their number and the title at the foot. No table row, chart or
/// drawing is parted by the end of a sheet; drawings wider or taller than a sheet are made smaller. Same
/// document, same bytes: the date inside is fixed.
std::string pdf_document(const Document& document);

}  // namespace canalrule::report
