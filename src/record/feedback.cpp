#include <canalrule/base/whole_file.hpp>
#include <canalrule/record/feedback.hpp>
#include <cstdint>
#include <set>

#include "feedback_words.hpp"
#include "fields.hpp"
#include "json_text.hpp"

namespace canalrule {

namespace {

void check_braces(const std::string& text, const Field& field) {
  for (std::size_t open = text.find('{'); open != std::string::npos; open = text.find('{', open + 1)) {
    const std::string_view rest = std::string_view(text).substr(open);
    if (!rest.starts_with("{place}") && !rest.starts_with("{figure}"))
      field.refuse("braces stand round a word that means nothing here", "known are {place} and {figure}");
  }
}

Question question_of(const Field& field) {
  field.only({"technique", "question"});
  Question question{field["technique"].word(technique_words), field["question"].text_not_empty()};
  if (!question.text.ends_with('?'))
    field["question"].refuse("this is no question", "ask, and end with a question mark: it is no finding");
  return question;
}

FaultText fault_text(const Field& field) {
  field.only({"fault", "title", "looks_like", "where", "questions"});
  FaultText text;
  text.title = field["title"].text_not_empty();
  text.looks_like = field["looks_like"].text_not_empty();
  text.where = field["where"].text_not_empty();
  check_braces(text.where, field["where"]);
  for (const Field& item : field["questions"].items(1)) text.questions.push_back(question_of(item));
  return text;
}

}  // namespace

std::string_view word_of(Fault fault) { return word_of(fault_words, fault); }
std::string_view word_of(Technique technique) { return word_of(technique_words, technique); }

Feedback parse_feedback(std::string_view json, const std::string& name) {
  const nlohmann::json document = parse_json(json, name);
  const Field root(document, name);
  root.expect_schema("canalrule.feedback/1");
  root.only({"schema", "name", "version", "source", "opening", "faults"});
  Feedback feedback;
  feedback.name = root["name"].text_not_empty();
  feedback.version = root["version"].text_not_empty();
  feedback.source = root["source"].text_not_empty();
  feedback.opening = root["opening"].text_not_empty();
  std::set<Fault> seen;
  for (const Field& item : root["faults"].items(1)) {
    const Fault fault = item["fault"].word(fault_words);
    if (!seen.insert(fault).second) item["fault"].refuse("this fault stands twice", "keep one of the two");
    feedback.faults.at(static_cast<std::size_t>(fault)) = fault_text(item);
  }
  for (const auto& [fault, word] : fault_words)
    if (!seen.contains(fault))
      root["faults"].refuse("the fault '" + std::string(word) + "' is missing", "add what is said of it");
  return feedback;
}

Feedback load_feedback(const std::filesystem::path& file) {
  constexpr std::uint64_t limit_bytes = std::uint64_t{1} << 20;
  const std::vector<std::uint8_t> bytes = read_whole(file, limit_bytes);
  return parse_feedback(std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()),
                        file.string());
}

}  // namespace canalrule
