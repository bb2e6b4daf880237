#include <algorithm>
#include <canalrule/audit/audit_folder.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/record/csv.hpp>
#include <charconv>
#include <cmath>
#include <string>
#include <vector>

namespace canalrule {

namespace {

/// A table's row as it grows. Numbers by the shortest decimals that read back as the same number.
class Fields {
 public:
  /// What comes from outside: the list, a reading, a film.
  void text(const std::string& text) { fields_.push_back(csv_text(text)); }
  void word(std::string_view text) { fields_.emplace_back(text); }
  void count(std::size_t number) { fields_.push_back(std::to_string(number)); }
  void number(const std::optional<double>& value) {
    if (!value) return fields_.emplace_back(), void();
    char text[32];
    const std::to_chars_result end = std::to_chars(text, text + sizeof text, *value == 0.0 ? 0.0 : *value);
    fields_.emplace_back(text, end.ptr);
  }
  void quantity(const std::optional<Quantity>& figure) {
    number(figure ? std::optional(figure->value) : std::nullopt);
    number(figure ? std::optional(figure->standard_uncertainty) : std::nullopt);
  }
  /// A figure and its standard uncertainty; the unit stands in both names.
  void heading(const std::string& figure, const std::string& unit) {
    word(figure + unit);
    word(figure + "_standard_uncertainty" + unit);
  }
  std::string row() const { return csv_row(fields_); }

 private:
  std::vector<std::string> fields_;
};

template <class Notes, class Word>
std::string joined(const Notes& notes, Word word) {
  std::string all;
  for (const auto& note : notes) {
    const std::string one = word(note);
    all += (all.empty() ? "" : "; ") + one;
  }
  return all;
}

std::string codes(const std::vector<Note>& notes) {
  return joined(notes, [](const Note& note) { return note.code; });
}

std::string plain(double value) {
  Fields one;
  one.number(value);
  std::string text = one.row();
  return text.substr(0, text.size() - 2);
}

/// "taper.coronal: overlap; voids 8 to 12.4 mm: overlap"
std::string missing_figures(const std::vector<NotAssessable>& entries) {
  return joined(entries, [](const NotAssessable& entry) {
    const std::string stretch = entry.from_mm && entry.to_mm
                                    ? " " + plain(*entry.from_mm) + " to " + plain(*entry.to_mm) + " mm"
                                    : "";
    return entry.figure + stretch + ": " + entry.reason;
  });
}

/// The list's own columns, called apart from those of the table.
void list_headings(Fields& out, const AuditHead& head) {
  for (const std::string& column : head.columns) out.text("list: " + column);
}

void list_values(Fields& out, const CaseRow& row) {
  for (const std::string& value : row.values) out.text(value);
}

std::string canals_heading(const AuditHead& head) {
  Fields out;
  for (const char* name : {"case", "operator", "reader", "patient", "tooth", "canal"}) out.word(name);
  out.heading("terminus_to_apex", "_mm");
  out.word("terminus_side");
  out.heading("filled_length", "_mm");
  out.heading("coronal_level", "_mm");
  out.word("voids_found");
  for (const char* name : {"longest_void_from_mm", "longest_void_to_mm"}) out.word(name);
  out.heading("longest_void", "_mm");
  out.heading("longest_void_deficit", "_share");
  out.word("longest_void_score_sd");
  for (const char* third : {"overall", "apical", "middle", "coronal"})
    out.heading(std::string("taper_") + third, "_mm_per_mm");
  out.heading("narrowing_towards_crown", "_mm");
  out.heading("largest_step", "_mm");
  out.heading("material_beyond_apex", "_mm");
  out.heading("width_against_plan", "_mm");
  out.heading("terminus_to_working_length", "_mm");
  out.heading("curvature", "_deg");
  for (const char* name : {"contrast_sd", "blur_mm", "not_assessable", "warnings"}) out.word(name);
  for (const Criterion& criterion : head.criteria.criteria) {
    out.text("verdict: " + criterion.id);
    out.text("probability_within: " + criterion.id);
  }
  out.word("verdict_all_criteria");
  list_headings(out, head);
  return out.row();
}

void put_longest_void(Fields& out, const std::optional<std::vector<Void>>& voids) {
  out.number(voids ? std::optional(static_cast<double>(voids->size())) : std::nullopt);
  if (!voids || voids->empty()) {
    for (int i = 0; i < 7; ++i) out.number(std::nullopt);
    return;
  }
  const Void& longest = *std::max_element(voids->begin(), voids->end(), [](const Void& a, const Void& b) {
    return a.length_mm.value < b.length_mm.value;
  });
  out.number(longest.from_mm);
  out.number(longest.to_mm);
  out.quantity(longest.length_mm);
  out.quantity(longest.deficit);
  out.number(longest.score);
}

std::optional<Quantity> largest_step(const std::vector<TaperBreak>& breaks) {
  std::optional<Quantity> largest;
  for (const TaperBreak& each : breaks)
    if (each.kind == "step" && (!largest || std::abs(each.step_mm.value) > std::abs(largest->value)))
      largest = each.step_mm;
  return largest;
}

std::optional<Quantity> longest_beyond(const std::vector<MaterialBeyond>& all) {
  std::optional<Quantity> longest;
  for (const MaterialBeyond& each : all)
    if (!longest || each.length_mm.value > longest->value) longest = each.length_mm;
  return longest;
}

std::string canal_line(const CaseRow& row, const CanalRow& canal) {
  const CanalResult& found = canal.figures;
  Fields out;
  out.text(row.name);
  for (const std::string* who : {&row.operated_by, &row.read_by, &row.patient, &row.tooth, &found.name})
    out.text(*who);
  out.quantity(found.terminus ? std::optional(Quantity{found.terminus->to_apex_mm,
                                                       found.terminus->standard_uncertainty_mm})
                              : std::nullopt);
  out.word(found.terminus ? word_of(found.terminus->side) : std::string_view{});
  out.quantity(found.filled_length_mm);
  out.quantity(found.coronal_level_mm);
  put_longest_void(out, found.voids);
  for (const auto* third :
       {&found.taper.overall, &found.taper.apical, &found.taper.middle, &found.taper.coronal})
    out.quantity(*third);
  out.quantity(found.taper.largest_reversal ? std::optional(found.taper.largest_reversal->narrowing_mm)
                                            : std::nullopt);
  out.quantity(largest_step(found.taper.breaks));
  out.quantity(longest_beyond(found.material_beyond_apex));
  out.quantity(found.against_plan.mean_width_difference_mm);
  out.quantity(found.against_plan.terminus_to_working_length_mm);
  out.quantity(found.curvature_deg);
  out.number(found.film.contrast_to_texture);
  out.number(found.film.blur_mm);
  out.word(missing_figures(found.not_assessable));
  out.word(codes(found.warnings));
  for (const CriterionVerdict& verdict : canal.verdicts) {
    out.word(word_of(verdict.verdict));
    // To four decimals, as in a result: finer is no knowledge.
    out.number(verdict.probability_within ? std::optional(std::round(*verdict.probability_within * 1e4) / 1e4)
                                          : std::nullopt);
  }
  out.word(word_of(canal.together));
  list_values(out, row);
  return out.row();
}

std::string cases_heading(const AuditHead& head) {
  Fields out;
  for (const char* name :
       {"case", "line", "status", "reason", "operator", "reader", "patient", "tooth", "film", "canals"})
    out.word(name);
  out.heading("scale", "_mm_per_pixel");
  for (const char* name : {"scale_source", "warnings", "picture"}) out.word(name);
  list_headings(out, head);
  return out.row();
}

std::string case_line(const CaseRow& row) {
  const bool measured = row.status == CaseStatus::measured;
  Fields out;
  out.text(row.name);
  out.count(row.line);
  out.word(measured ? "measured" : "failed");
  out.text(row.reason);
  for (const std::string* who : {&row.operated_by, &row.read_by, &row.patient, &row.tooth}) out.text(*who);
  // Enough to see which cases share a film.
  out.word(row.film_sha256.substr(0, 16));
  if (measured)
    out.count(row.canals.size());
  else
    out.word("");
  out.quantity(measured ? std::optional(Quantity{row.scale.mm_per_pixel, row.scale.standard_uncertainty})
                        : std::nullopt);
  out.word(row.scale.source);
  out.word(codes(row.warnings));
  out.word(row.picture);
  list_values(out, row);
  return out.row();
}

}  // namespace

void write_tables(const AuditFolder& audit) {
  WholeFile canals(audit.folder() / "canals.csv");
  WholeFile cases(audit.folder() / "cases.csv");
  canals.append(canals_heading(audit.head()));
  cases.append(cases_heading(audit.head()));
  audit.rows()([&](const CaseRow& row) {
    cases.append(case_line(row));
    for (const CanalRow& canal : row.canals) canals.append(canal_line(row, canal));
  });
  canals.commit();
  cases.commit();
}

}  // namespace canalrule
