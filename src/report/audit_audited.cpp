#include <canalrule/measure/cautions.hpp>

#include "audit_sections.hpp"
#include "chart_frame.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

std::string plain_number(double value) { return axis_text(value, {}); }

/// "at least 0", "less than 2": the words say whether the edge itself still conforms.
std::string edge_words(const std::optional<Limit>& limit, const char* inclusive, const char* exclusive,
                       const std::string& unit) {
  if (!limit) return "none";
  return std::string(limit->inclusive ? inclusive : exclusive) + " " + plain_number(limit->value) + unit;
}

/// What a criterion looks at, and its unit.
struct Looked {
  const char* what;
  const char* unit;
  bool voids = false;
};

Looked looked_at(CriterionFigure figure) {
  switch (figure) {
    case CriterionFigure::terminus_to_apex_mm:
      return {"end of the fill, short of the radiographic apex", " mm"};
    case CriterionFigure::longest_void_mm:
      return {"longest void", " mm", true};
    case CriterionFigure::void_count:
      return {"number of voids", "", true};
    case CriterionFigure::largest_void_deficit:
      return {"deepest void, share of the fill missing", "", true};
    case CriterionFigure::taper_overall:
      return {"taper of the whole fill", " mm per mm"};
    case CriterionFigure::taper_apical:
      return {"taper of the apical third", " mm per mm"};
    case CriterionFigure::taper_middle:
      return {"taper of the middle third", " mm per mm"};
    case CriterionFigure::taper_coronal:
      return {"taper of the coronal third", " mm per mm"};
    case CriterionFigure::narrowing_towards_crown_mm:
      return {"largest narrowing towards the crown", " mm"};
    case CriterionFigure::taper_step_mm:
      return {"largest step of the width", " mm"};
    case CriterionFigure::material_beyond_apex_mm:
      return {"longest material beyond the apex", " mm"};
    case CriterionFigure::width_against_plan_mm:
      return {"mean width, measured minus planned", " mm"};
    case CriterionFigure::terminus_to_working_length_mm:
      return {"end of the fill, short of the working length", " mm"};
    case CriterionFigure::filled_length_mm:
      return {"length of the fill", " mm"};
  }
  return {"", ""};
}

std::string selection_words(const VoidSelection& voids) {
  std::string out = "; of voids from a score of " + plain_number(voids.least_score) + " standard deviations";
  if (voids.least_length_mm > 0.0) out += ", a length of " + plain_number(voids.least_length_mm) + " mm";
  if (voids.least_deficit > 0.0) out += ", a deficit of " + percent(voids.least_deficit, 0);
  if (voids.third) out += ", in the " + std::string(third_words(*voids.third)) + " third";
  return out;
}

Table criteria_table(const Criteria& criteria) {
  Table table{"What was asked of each canal",
              {{"Criterion"}, {"What it looks at"}, {"Lower edge"}, {"Upper edge"}},
              {},
              "No criterion."};
  for (const Criterion& each : criteria.criteria) {
    const Looked looked = looked_at(each.figure);
    table.rows.push_back({each.text,
                          looked.what + (looked.voids ? selection_words(each.voids) : std::string()),
                          edge_words(each.lower, "at least", "more than", looked.unit),
                          edge_words(each.upper, "at most", "less than", looked.unit)});
  }
  return table;
}

std::string short_hash(const std::string& sha256) { return sha256.substr(0, 16); }

}  // namespace

Section audited_section(const AuditSummary& summary) {
  const AuditHead& head = summary.head;
  const Criteria& criteria = head.criteria;
  Section section{"audited", "What was audited, and by which rule"};
  Facts facts;
  facts.facts.push_back(
      {"Cases", std::to_string(head.cases) + " in the list, whose fingerprint is " + head.list_mark});
  facts.facts.push_back({"Criteria", criteria.name + ", version " + criteria.version + " (SHA-256 begins " +
                                         short_hash(head.criteria_sha256) + ")"});
  facts.facts.push_back({"Source", criteria.source.empty() ? "none named" : criteria.source});
  if (!criteria.note.empty()) facts.facts.push_back({"What the source leaves open", criteria.note});
  facts.facts.push_back(
      {"Verdict",
       "within where the probability that the true figure lies between the edges is at least " +
           level_percent(criteria.confidence) + ", outside where it is at most " +
           level_percent(1.0 - criteria.confidence) +
           ", else too close to call; the figure's uncertainty is taken as normal (JCGM 106:2012)"});
  facts.facts.push_back({"Program", head.program + ", OpenCV " + head.opencv});
  section.blocks.emplace_back(std::move(facts));
  section.blocks.emplace_back(criteria_table(criteria));
  Section method{"method", "How shares and their intervals are made"};
  const std::string level = level_percent(summary.options.level);
  method.blocks.emplace_back(Bullets{
      {"A share is of the canals that could be assessed, each film's canal counted once, by the first "
       "reading "
       "in the list.",
       "What is too close to call is not rounded away: where a share is given as two figures, the lower "
       "counts it as outside, the higher as within.",
       "Interval: Wilson's (1927) at " + level +
           ", lower end of the lowest share to upper end of the highest. Canals of one patient (of one film, "
           "where the list names no patient) are not independent: the number of canals is divided by the "
           "design effect, estimated from the spread between patients (Cochran 1977; Rao and Scott 1992).",
       "Difference of two shares: Newcombe's hybrid score interval (1998) from the two Wilson intervals.",
       "Nobody is set against others with fewer than " + std::to_string(summary.options.least_cases) +
           " cases, and nothing is put into an order of merit."}});
  section.parts.push_back(std::move(method));
  return section;
}

Section cautions_section(const AuditSummary& summary) {
  Section section{"cautions", "Cautions"};
  for (const std::string& caution : cautions())
    section.blocks.emplace_back(Paragraph{caution, Paragraph::Kind::caution});
  section.blocks.emplace_back(Paragraph{apex_mark_assumption(), Paragraph::Kind::caution});
  if (std::optional<std::string> beyond = readers_beyond_stated(summary))
    section.blocks.emplace_back(Paragraph{*std::move(beyond), Paragraph::Kind::caution});
  section.blocks.emplace_back(Paragraph{
      "The shares hold for the cases of this list. They speak for a practice or a hospital only where the "
      "list is a random sample of its cases, or holds them all.",
      Paragraph::Kind::caution});
  if (summary.counts.patients == 0)
    section.blocks.emplace_back(Paragraph{
        "The list names no patients, so that canals on different films of one patient were taken as "
        "independent: the intervals may be too narrow.",
        Paragraph::Kind::caution});
  if (summary.head.identities == Identities::as_given)
    section.blocks.emplace_back(Paragraph{
        "This page names people and files as the list does. Treat it as such.", Paragraph::Kind::caution});
  return section;
}

}  // namespace canalrule::report
