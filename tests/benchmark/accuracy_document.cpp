// Draws simulated films by the thousand, measures them, and writes docs/accuracy.md of what came out. A run can be
// broken off and taken up again: each film's row is kept in a file as soon as it is there.
#include <algorithm>
#include <boost/program_options.hpp>
#include <canalrule/base/refusal.hpp>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <map>
#include <opencv2/core/utility.hpp>
#include <sstream>

#include "document.hpp"
#include "film_rows.hpp"

namespace {

using namespace canalrule_benchmark;
using nlohmann::json;
namespace fs = std::filesystem;

using Key = std::pair<std::uint64_t, int>;

/// Rows on the disk, one a line; a line that was cut off is left out.
class Store {
 public:
  explicit Store(fs::path file) : file_(std::move(file)) {
    std::ifstream in(file_);
    for (std::string line; std::getline(in, line);) {
      const json row = json::parse(line, nullptr, false);
      if (row.is_object()) rows_[{row["seed"], row["member"]}] = row;
    }
  }
  bool has(Key key) const { return rows_.count(key) > 0; }
  void add(const json& row) {
    std::ofstream out(file_, std::ios::app);
    out << "\n" << row.dump();
    rows_[{row["seed"], row["member"]}] = row;
  }
  const std::map<Key, json>& rows() const { return rows_; }

 private:
  fs::path file_;
  std::map<Key, json> rows_;
};

class Progress {
 public:
  Progress(std::string name, int all) : name_(std::move(name)), all_(all) {}
  void step() {
    ++done_;
    const auto now = Clock::now();
    if (done_ < all_ && now - shown_ < std::chrono::seconds(10)) return;
    shown_ = now;
    const double spent = std::chrono::duration<double>(now - start_).count();
    std::fprintf(stderr, "%s: %d of %d, %.0f s left\n", name_.c_str(), done_, all_, spent / done_ * (all_ - done_));
  }

 private:
  using Clock = std::chrono::steady_clock;
  std::string name_;
  int all_, done_ = 0;
  Clock::time_point start_ = Clock::now(), shown_ = start_;
};

enum class Missing { measure, leave_out };

struct Run {
  Missing missing = Missing::measure;
  int films = 0, limits = 0;
  std::uint64_t first = 1;
  fs::path rows, limit_rows;
  std::vector<std::string> only;  ///< parts by name; all where empty
};

Rows run_part(const Part& part, const Run& run) {
  Store measured(run.rows / (part.name + ".jsonl")), limits(run.limit_rows / (part.name + ".jsonl"));
  std::vector<Key> to_measure;
  std::vector<std::uint64_t> to_limit;
  for (int i = 0; i < part.films && run.missing == Missing::measure; ++i) {
    const std::uint64_t seed = run.first + static_cast<std::uint64_t>(i);
    for (std::size_t m = 0; m < part.members(); ++m)
      if (!measured.has({seed, static_cast<int>(m)})) to_measure.push_back({seed, static_cast<int>(m)});
    if (part.limits != Limits::none && i < run.limits && !limits.has({seed, 0})) to_limit.push_back(seed);
  }
  Progress films(part.name, static_cast<int>(to_measure.size()));
  for (const auto& [seed, member] : to_measure) {
    measured.add(film_row(part, seed, member));
    films.step();
  }
  Progress bounds(part.name + ", limits", static_cast<int>(to_limit.size()));
  for (const std::uint64_t seed : to_limit) {
    limits.add(limits_row(part, seed));
    bounds.step();
  }
  Rows rows;
  const std::uint64_t end = run.first + static_cast<std::uint64_t>(part.films);
  for (const auto& [key, row] : measured.rows()) {
    if (key.first < run.first || key.first >= end) continue;
    rows.push_back(row);
    const auto limit = limits.rows().find(key);
    if (limit != limits.rows().end()) rows.back().update(limit->second);
  }
  return rows;
}

}  // namespace

int main(int argc, char** argv) {
  namespace po = boost::program_options;
  cv::setNumThreads(1);
  Run run;
  std::string folder, rows, limit_rows, remains;
  po::options_description options(
      "Usage: accuracy_document --rows FOLDER [options]\n\n"
      "Rows already there are kept: delete PART.jsonl in FOLDER after a change of what measures, and the limits' after\n"
      "one of the phantom or its families. Options");
  options.add_options()("rows", po::value(&rows)->required(), "where each film's row is kept")(
      "limit-rows", po::value(&limit_rows)->required(), "where each film's limits are kept: tests/benchmark/limits")(
      "output", po::value(&folder), "write accuracy.md and accuracy/ here")(
      "remains", po::value(&remains)->default_value(""), "Markdown for the document's end")(
      "films", po::value(&run.films)->default_value(120), "films of each family")(
      "limits", po::value(&run.limits)->default_value(10), "films of each family whose limits are reckoned")(
      "first", po::value(&run.first)->default_value(1), "first seed")(
      "part", po::value(&run.only), "only this part; may be given again for more")(
      "write-only", "write of the rows that are there")("help", "print this");
  try {
    po::variables_map chosen;
    po::store(po::parse_command_line(argc, argv, options), chosen);
    if (chosen.count("help") > 0) {
      for (const Part& part : all_parts(run.films)) std::fprintf(stdout, "part %s\n", part.name.c_str());
      std::ostringstream help;
      help << options;
      std::fputs(help.str().c_str(), stdout);
      return 0;
    }
    po::notify(chosen);
    run.rows = rows;
    run.limit_rows = limit_rows;
    if (chosen.count("write-only") > 0) run.missing = Missing::leave_out;
    fs::create_directories(run.rows);
    fs::create_directories(run.limit_rows);
    const std::vector<Part> parts = all_parts(run.films);
    AllRows all;
    for (const Part& part : parts)
      if (run.only.empty() || std::find(run.only.begin(), run.only.end(), part.name) != run.only.end())
        all[part.name] = run_part(part, run);
    if (!folder.empty()) write_document(parts, all, folder, remains);
  } catch (const po::error& wrong) {
    std::fprintf(stderr, "accuracy_document: %s\n", wrong.what());
    return 2;
  } catch (const canalrule::Refusal& refusal) {
    std::fprintf(stderr, "accuracy_document: %s\n", refusal.what());
    return 3;
  }
  return 0;
}
