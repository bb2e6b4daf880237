#include "criterion_fields.hpp"

#include "words.hpp"

namespace canalrule {

namespace {

using Figure = CriterionFigure;

std::optional<Limit> limit(const Field& owner, const char* inclusive_key, const char* exclusive_key) {
  const std::optional<Field> inclusive = owner.find(inclusive_key);
  const std::optional<Field> exclusive = owner.find(exclusive_key);
  if (inclusive && exclusive)
    exclusive->refuse(std::string("stands beside ") + inclusive_key, "keep one of the two");
  if (inclusive) return Limit{inclusive->number(any_number), true};
  if (exclusive) return Limit{exclusive->number(any_number), false};
  return std::nullopt;
}

double number_or_none(const Field& owner, std::string_view key, const Range& range) {
  const std::optional<Field> field = owner.find(key);
  return field ? field->number(range) : 0.0;
}

}  // namespace

bool on_voids(Figure figure) {
  return figure == Figure::longest_void_mm || figure == Figure::void_count ||
         figure == Figure::largest_void_deficit;
}

std::string_view unit_of(Figure figure) {
  switch (figure) {
    case Figure::void_count:
    case Figure::largest_void_deficit:
      return "";
    case Figure::taper_overall:
    case Figure::taper_apical:
    case Figure::taper_middle:
    case Figure::taper_coronal:
      return "mm per mm";
    default:
      return "mm";
  }
}

bool upper_limit_only(Figure figure) {
  return on_voids(figure) || figure == Figure::narrowing_towards_crown_mm ||
         figure == Figure::taper_step_mm || figure == Figure::material_beyond_apex_mm;
}

Limits limits_of(const Field& owner) {
  const Limits limits{limit(owner, "at_least", "more_than"), limit(owner, "at_most", "less_than")};
  if (limits.lower && limits.upper) {
    const bool one_value =
        limits.lower->value == limits.upper->value && limits.lower->inclusive && limits.upper->inclusive;
    if (limits.lower->value >= limits.upper->value && !one_value)
      owner.refuse("the limits leave nothing between them", "put the smaller one below");
  }
  return limits;
}

VoidSelection void_selection(const Field& field) {
  field.only({"score_at_least", "length_at_least_mm", "deficit_at_least", "third"});
  VoidSelection selection;
  selection.least_score = field["score_at_least"].number({0.0, 1000.0, Range::Edge::open});
  selection.least_length_mm = number_or_none(field, "length_at_least_mm", {0.0, 100.0});
  selection.least_deficit = number_or_none(field, "deficit_at_least", {0.0, 1.0});
  if (const std::optional<Field> third = field.find("third")) selection.third = third->word(third_words);
  return selection;
}

}  // namespace canalrule
