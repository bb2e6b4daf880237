#include <doctest/doctest.h>

#include <canalrule/base/refusal.hpp>
#include <canalrule/record/feedback.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

using namespace canalrule;
using nlohmann::json;

namespace {

const std::string shipped = std::string(CANALRULE_SOURCE_DIR) + "/docs/feedback/questions.json";

json shipped_json() {
  std::ifstream file(shipped);
  return json::parse(file);
}

std::string message_of(const json& document) {
  try {
    (void)parse_feedback(document.dump(), "f.json");
  } catch (const Refusal& refusal) {
    CHECK(refusal.kind() == RefusalKind::unusable_input);
    return refusal.what();
  }
  return "nothing was refused";
}

bool starts(const std::string& text, const std::string& with) { return text.rfind(with, 0) == 0; }

}  // namespace

TEST_CASE("the feedback that ships has words for every fault, and its questions are questions") {
  const Feedback feedback = load_feedback(shipped);
  std::set<std::string> words;
  for (std::size_t i = 0; i < fault_count; ++i) {
    const FaultText& text = feedback.of(static_cast<Fault>(i));
    words.insert(std::string(word_of(static_cast<Fault>(i))));
    CHECK_FALSE(text.title.empty());
    CHECK(text.where.find("{place}") != std::string::npos);
    CHECK(text.where.find("{figure}") != std::string::npos);
    for (const Question& question : text.questions) CHECK(question.text.back() == '?');
  }
  CHECK(words.size() == fault_count);
  CHECK(feedback.opening.find("not findings") != std::string::npos);
}

TEST_CASE("a feedback file that lacks, doubles or misnames something is refused") {
  json missing = shipped_json();
  missing["faults"].erase(3);
  CHECK(starts(message_of(missing), "f.json: /faults: the fault 'fill-beyond-apex' is missing"));
  json twice = shipped_json();
  twice["faults"][1]["fault"] = "ends-short";
  CHECK(starts(message_of(twice), "f.json: /faults/1/fault: this fault stands twice"));
  json unknown = shipped_json();
  unknown["faults"][0]["fault"] = "crooked";
  CHECK(starts(message_of(unknown), "f.json: /faults/0/fault"));
  json finding = shipped_json();
  finding["faults"][0]["questions"][0]["question"] = "The length was wrong.";
  CHECK(starts(message_of(finding), "f.json: /faults/0/questions/0/question: this is no question"));
  json brace = shipped_json();
  brace["faults"][0]["where"] = "at {plaice}";
  CHECK(starts(message_of(brace), "f.json: /faults/0/where: braces"));
  json none = shipped_json();
  none["faults"][0]["questions"] = json::array();
  CHECK(starts(message_of(none), "f.json: /faults/0/questions"));
}
