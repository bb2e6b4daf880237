// Running an audit: what is measured once, what is kept, who is to blame for what.
#include <doctest/doctest.h>

#include <atomic>
#include <canalrule/audit/audit_folder.hpp>
#include <canalrule/audit/run.hpp>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <filesystem>
#include <mutex>
#include <stdexcept>
#include <string>
#include <vector>

#include "temporary_folder.hpp"

using namespace canalrule;
using canalrule_test::refusal_of;
using canalrule_test::TemporaryFolder;
namespace fs = std::filesystem;

namespace {

const fs::path source(CANALRULE_SOURCE_DIR);

std::string text_of(const fs::path& file) {
  const std::vector<std::uint8_t> bytes = read_whole(file, 1U << 24U);
  return {bytes.begin(), bytes.end()};
}

/// An audit without pictures, of the rows after the header "case,reading,operator".
AuditPlan plan_of(const fs::path& output, const std::string& rows) {
  AuditPlan plan;
  plan.list = parse_case_list("case,reading,operator\n" + rows, "cases.csv", source / "sample-images");
  plan.criteria_file = "default.json";
  plan.criteria_json = text_of(source / "docs/criteria/default.json");
  plan.output = output;
  plan.key_file = key_file_beside(output);
  plan.opencv = "any";
  plan.jobs = 2;
  return plan;
}

std::vector<CaseRow> rows_in(const fs::path& output) {
  std::vector<CaseRow> rows;
  AuditFolder(output).rows()([&](const CaseRow& row) { rows.push_back(row); });
  return rows;
}

}  // namespace

TEST_CASE(
    "rows come in the list's order, with figures and verdicts, and come again as often as they are asked "
    "for") {
  const TemporaryFolder folder;
  const AuditPlan plan = plan_of(folder.path() / "out",
                                 "S,short.reading.json,X\nN,none.reading.json,X\n"
                                 "C,curved.reading.json,\n");
  const AuditOutcome outcome = run_audit(plan, {});
  CHECK(outcome.end == AuditEnd::complete);
  CHECK(outcome.progress.cases == 3);
  CHECK(outcome.progress.done == 3);
  CHECK(outcome.progress.measured == 2);
  CHECK(outcome.progress.failed == 1);
  CHECK(outcome.own_faults == 0);

  const AuditFolder audit(plan.output);
  CHECK(audit.head().cases == 3);
  CHECK(audit.head().criteria.criteria.size() == 4);
  CHECK(audit.part() == AuditPart{1, 1});
  const std::vector<CaseRow> rows = rows_in(plan.output);
  REQUIRE(rows.size() == 3);
  CHECK(rows[0].name == "S");
  CHECK(rows[0].tooth == "13");
  CHECK(rows[0].status == CaseStatus::measured);
  REQUIRE(rows[0].canals.size() == 1);
  const CanalRow& canal = rows[0].canals[0];
  // The film shows a fill 3.2 mm short of the apex (sample-images/README.md).
  REQUIRE(canal.figures.terminus);
  CHECK(canal.figures.terminus->to_apex_mm == doctest::Approx(3.2).epsilon(0.05));
  REQUIRE(canal.verdicts.size() == 4);
  CHECK(canal.verdicts[0].verdict == Verdict::outside);
  CHECK(canal.verdicts[1].verdict == Verdict::within);
  CHECK(canal.together == Verdict::outside);
  CHECK(rows[1].status == CaseStatus::failed);
  CHECK(rows[1].reason == "reading: there is no such file; check the name");
  CHECK(rows[1].canals.empty());
  CHECK(rows[2].name == "C");
  CHECK(rows[0].operated_by == rows[1].operated_by);
  CHECK(rows[0].operated_by.starts_with("O-"));
  CHECK(rows[2].operated_by == "");

  std::size_t again = 0;
  const RowSource source_of_rows = audit.rows();
  for (int pass = 0; pass < 2; ++pass)
    source_of_rows([&](const CaseRow& row) { again += row.canals.size(); });
  CHECK(again == 4);
}

TEST_CASE("equal cases are measured once, by however many workers at the same time") {
  const TemporaryFolder folder;
  std::string rows;
  for (int i = 0; i < 40; ++i) rows += "case " + std::to_string(i) + ",short.reading.json,\n";
  AuditPlan plan = plan_of(folder.path() / "out", rows);
  plan.jobs = 8;
  std::atomic<int> drawn = 0;
  plan.picture = {".svg", [&](const Film&, const Result&) {
                    ++drawn;
                    return std::vector<std::uint8_t>{'x'};
                  }};
  const AuditOutcome first = run_audit(plan, {});
  CHECK(drawn == 1);
  CHECK(first.progress.measured == 1);
  CHECK(first.progress.kept == 39);
  const AuditOutcome second = run_audit(plan, {});
  CHECK(drawn == 1);
  CHECK(second.progress.kept == 40);
  fs::remove_all(plan.output / "pictures");
  CHECK(run_audit(plan, {}).progress.measured == 1);
  CHECK(drawn == 2);
}

TEST_CASE("asked to stop, it stops between cases and keeps what it has") {
  const TemporaryFolder folder;
  AuditPlan plan = plan_of(folder.path() / "out",
                           "S,short.reading.json,\nC,curved.reading.json,\nF,flush.reading.json,\n");
  plan.jobs = 1;
  std::atomic<int> asked = 0;
  const AuditOutcome stopped = run_audit(plan, {nullptr, nullptr, [&] { return ++asked > 2; }});
  CHECK(stopped.end == AuditEnd::stopped);
  CHECK(stopped.progress.measured == 2);
  CHECK(refusal_of([&] { AuditFolder(plan.output); }).problem() == "the audit in this folder isn't finished");
  const AuditOutcome finished = run_audit(plan, {});
  CHECK(finished.end == AuditEnd::complete);
  CHECK(finished.progress.kept == 2);
  CHECK(finished.progress.measured == 1);
}

TEST_CASE("a fault of our own on one film costs that film alone, is told apart, and is tried again") {
  const TemporaryFolder folder;
  AuditPlan plan = plan_of(folder.path() / "out", "S,short.reading.json,\nC,curved.reading.json,\n");
  std::atomic<bool> faulty = true;
  plan.picture = {".svg", [&](const Film&, const Result& result) {
                    if (faulty && result.provenance.tooth == "13") throw std::runtime_error("out of order");
                    return std::vector<std::uint8_t>{'x'};
                  }};
  std::vector<std::string> told;
  const AuditOutcome outcome =
      run_audit(plan, {nullptr, [&](const std::string& line) { told.push_back(line); }, nullptr});
  CHECK(outcome.end == AuditEnd::complete);
  CHECK(outcome.own_faults == 1);
  CHECK(outcome.progress.failed == 1);
  REQUIRE(told.size() == 1);
  CHECK(told[0] ==
        "case S (line 2): a fault of the program itself, which it is good to report: out of order");
  CHECK(rows_in(plan.output)[1].status == CaseStatus::measured);
  faulty = false;
  const AuditOutcome again = run_audit(plan, {});
  CHECK(again.progress.failed == 0);
  CHECK(again.progress.measured == 1);
}

TEST_CASE("an output that can't be written ends the run, and nothing is lost") {
  const TemporaryFolder folder;
  const AuditPlan plan = plan_of(folder.write("taken", std::string("a file")), "S,short.reading.json,\n");
  CHECK(refusal_of([&] { run_audit(plan, {}); }).kind() == RefusalKind::unwritable_output);
  AuditPlan other = plan_of(folder.path() / "out", "S,short.reading.json,\nC,curved.reading.json,\n");
  other.jobs = 1;
  other.picture = {"/in/no/folder.svg",
                   [](const Film&, const Result&) { return std::vector<std::uint8_t>{'x'}; }};
  CHECK(refusal_of([&] { run_audit(other, {}); }).kind() == RefusalKind::unwritable_output);
  CHECK(fs::exists(other.output / "unfinished.rows"));
}

TEST_CASE("criteria that can't be used are refused before anything is measured") {
  const TemporaryFolder folder;
  AuditPlan plan = plan_of(folder.path() / "out", "S,short.reading.json,\n");
  plan.criteria_json = "{}";
  plan.criteria_file = "own.json";
  CHECK(refusal_of([&] { run_audit(plan, {}); }).where() == "own.json");
}

TEST_CASE("the key lies beside the output folder, however that is written") {
  CHECK(key_file_beside("results") == fs::path("results.key.csv"));
  CHECK(key_file_beside("a/results/") == fs::path("a/results.key.csv"));
  CHECK(key_file_beside("a/b/..") == fs::path("a.key.csv"));
  const fs::path here = fs::current_path();
  CHECK(key_file_beside(".") == here.parent_path() / (here.filename().string() + ".key.csv"));
  CHECK(key_file_beside("..") == here.parent_path().parent_path() / (here.parent_path().filename().string() + ".key.csv"));
}
