#include <algorithm>
#include <atomic>
#include <canalrule/audit/run.hpp>
#include <canalrule/base/fault.hpp>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/side_by_side.hpp>
#include <canalrule/base/system.hpp>
#include <canalrule/base/whole_file.hpp>
#include <exception>
#include <map>
#include <mutex>

#include "claims.hpp"
#include "fingerprint.hpp"
#include "listed.hpp"
#include "measure_case.hpp"
#include "names.hpp"
#include "output_folder.hpp"
#include "pseudonyms.hpp"
#include "row_text.hpp"
#include "store.hpp"

namespace canalrule {

namespace fs = std::filesystem;

namespace audit {
namespace {

/// What is remembered of a case until the rows are written: little, since there may be very many.
struct CaseState {
  std::optional<Place> place;  ///< missing: its reason is in Run::unkept_
  std::uint32_t reader = 0;    ///< number in Run::readers_; 0 is nobody
};

class Run {
 public:
  Run(const AuditPlan& plan, const AuditWatch& watch)
      : plan_(plan),
        watch_(watch),
        hold_(opened_output(plan.output)),
        listed_(plan),
        store_(plan.output),
        states_(listed_.cases_of_part()) {
    readers_.number_of("");
    remove_torn_files(plan.output);
    remove_torn_files(plan.output / pictures_name);
    // Reasons and pictures differ with it, so that nothing named comes back under pseudonyms.
    const char* identities = plan.identities == Identities::as_given ? "\nnamed" : "";
    program_ = listed_.head().program + '\n' + plan.opencv + identities;
    progress_.cases = states_.size();
  }

  AuditOutcome go() {
    const std::size_t workers = std::min(plan_.jobs, states_.size());
    side_by_side(workers, workers, [this](std::size_t) { work(); });
    if (broken_) std::rethrow_exception(broken_);
    AuditOutcome outcome{AuditEnd::stopped, progress_, own_faults_};
    if (progress_.done < progress_.cases) return outcome;
    write_rows();
    outcome.end = AuditEnd::complete;
    return outcome;
  }

 private:
  void work() {
    try {
      while (!stopping_) {
        if (watch_.stop_wanted && watch_.stop_wanted()) return;
        const std::size_t nth = next_++;
        if (nth >= states_.size()) return;
        one(nth);
      }
    } catch (...) {
      const std::lock_guard lock(mutex_);
      if (!broken_) broken_ = std::current_exception();
      stopping_ = true;
    }
  }

  /// One case, from wherever it comes: the list itself, an earlier run, or the film.
  void one(std::size_t nth) {
    const CaseListRow& row = listed_.row(nth);
    if (!row.problem.empty()) return failed_without_place(nth, row.problem);
    const fs::path reading = plan_.list.reading_of(row);
    Fingerprint print;
    try {
      print = fingerprint_of(reading, program_);
    } catch (const Refusal& refusal) {
      return failed_without_place(nth, reason_unopened(reading, refusal, plan_.identities));
    }
    const fs::path picture = picture_of(print);
    const Claim claim(claims_, print.key);
    const std::optional<Place> place = store_.find(print.key);
    std::error_code ignored;
    if (place && (place->kind == FoundKind::failed || picture.empty() || fs::exists(picture, ignored)))
      return known(nth, *place, print, std::nullopt);
    const Found found = measure_case(reading, print, plan_, listed_.head().criteria, picture);
    switch (found.kind) {
      case Found::Kind::measured:
        return known(nth, store_.add({LineKind::measured, print.key, "{}", found.result}), print, found);
      case Found::Kind::failed:
        return known(nth, store_.add(failed_line(print.key, found.reason)), print, found);
      case Found::Kind::own_fault:
        ++own_faults_;
        [[fallthrough]];
      case Found::Kind::not_today:
        return failed_without_place(nth, found.reason);
    }
  }

  fs::path picture_of(const Fingerprint& print) const {
    if (!plan_.picture.draw) return {};
    return plan_.output / pictures_name / picture_file_of(print.key, plan_, listed_.head().criteria_sha256);
  }

  void known(std::size_t nth, const Place& place, const Fingerprint& print,
             const std::optional<Found>& found) {
    const std::string reason =
        place.kind == FoundKind::measured ? "" : reason_of(store_.read(place), plan_.output.string());
    const std::lock_guard lock(mutex_);
    states_[nth].place = place;
    states_[nth].reader = readers_.number_of(print.reader);
    if (place.kind == FoundKind::measured) ++(found ? progress_.measured : progress_.kept);
    tell_done(nth, reason);
  }

  void failed_without_place(std::size_t nth, const std::string& reason) {
    const std::lock_guard lock(mutex_);
    unkept_[nth] = reason;
    tell_done(nth, reason);
  }

  /// With mutex_ held, so that whoever watches hears one thing at a time.
  void tell_done(std::size_t nth, const std::string& reason) {
    ++progress_.done;
    if (!reason.empty()) {
      ++progress_.failed;
      if (watch_.failed) watch_.failed(listed_.called(nth) + ": " + reason);
    }
    if (watch_.progress) watch_.progress(progress_);
  }

  void write_rows() {
    RowsWriter out(plan_.output, listed_.head(), plan_.part);
    for (std::size_t nth = 0; nth < states_.size(); ++nth) {
      const CaseState& state = states_[nth];
      CaseRow row = listed_.row_of(nth, readers_[state.reader]);
      if (!state.place) {
        row.reason = unkept_.at(nth);
        out.add(row, key_of(row.reason), "");
        continue;
      }
      const StoreLine line = store_.read(*state.place);
      if (state.place->kind == FoundKind::failed) {
        row.reason = reason_of(line, plan_.output.string());
      } else {
        row.status = CaseStatus::measured;
        if (plan_.picture.draw) row.picture = picture_of_key(line.key);
      }
      out.add(row, line.key, line.result);
    }
    if (plan_.identities == Identities::pseudonyms) listed_.pseudonyms().write_key(plan_.key_file);
    out.commit();
    store_.remove_journal();
  }

  std::string picture_of_key(const std::string& key) const {
    return std::string(pictures_name) + '/' + picture_file_of(key, plan_, listed_.head().criteria_sha256);
  }

  const AuditPlan& plan_;
  const AuditWatch& watch_;
  FolderHold hold_;
  Listed listed_;
  Store store_;
  std::string program_;
  std::vector<CaseState> states_;
  Names readers_;
  Claims claims_;
  std::map<std::size_t, std::string> unkept_;
  AuditProgress progress_;
  std::mutex mutex_;
  std::exception_ptr broken_;
  std::atomic<std::size_t> next_ = 0;
  std::atomic<std::size_t> own_faults_ = 0;
  std::atomic<bool> stopping_ = false;
};

}  // namespace
}  // namespace audit

AuditOutcome run_audit(const AuditPlan& plan, const AuditWatch& watch) {
  ensure(plan.jobs >= 1 && plan.part.number >= 1 && plan.part.number <= plan.part.of,
         "an audit has a worker, and its part is one of those there are");
  return audit::Run(plan, watch).go();
}

std::optional<fs::path> no_audits_in(const fs::path& folder) {
  std::error_code ignored;
  if (fs::exists(folder / audit::rows_name, ignored) || fs::exists(folder / audit::journal_name, ignored))
    return std::nullopt;
  for (fs::directory_iterator entry(folder, ignored), end; !ignored && entry != end; entry.increment(ignored)) {
    const std::string name = entry->path().filename().string();
    if (name != audit::pictures_name && !name.starts_with('.')) return entry->path();
  }
  return std::nullopt;
}

fs::path key_file_beside(const fs::path& output) {
  const auto named = [](const fs::path& folder) { return folder.has_filename() ? folder : folder.parent_path(); };
  fs::path file = named(output.lexically_normal());
  // These have no name that another could stand beside.
  if (file == "." || file.filename() == "..") file = named(fs::absolute(output).lexically_normal());
  file += ".key.csv";
  return file;
}

}  // namespace canalrule
