#include "measure_case.hpp"

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/cases/open_case.hpp>
#include <canalrule/judge/judge.hpp>
#include <canalrule/measure/measure.hpp>
#include <exception>
#include <new>

#include "privacy.hpp"
#include "row_text.hpp"
#include "store_line.hpp"

namespace canalrule::audit {

namespace fs = std::filesystem;

std::string picture_file_of(const std::string& key, const AuditPlan& plan,
                            const std::string& criteria_sha256) {
  return key_of(key + '\n' + criteria_sha256) + plan.picture.ending;
}

namespace {

std::string reason_of_refusal(const Refusal& refusal, const fs::path& reading_file, Identities identities) {
  return identities == Identities::as_given ? refusal.what() : reason_without_names(refusal, reading_file);
}

}  // namespace

std::string reason_unopened(const fs::path& reading_file, const Refusal& refusal, Identities identities) {
  try {
    open_case(reading_file);
  } catch (const Refusal& in_full) {
    return reason_of_refusal(in_full, reading_file, identities);
  }
  return reason_of_refusal(refusal, reading_file, identities);
}

Found measure_case(const fs::path& reading_file, const Fingerprint& print, const AuditPlan& plan,
                   const Criteria& criteria, const fs::path& picture_file) {
  Found found;
  try {
    const Case opened = open_case(reading_file);
    if (opened.film.sha256 != print.film_sha256 || opened.reading_sha256 != print.reading_sha256) {
      found.reason = "the film or the reading changed while it was measured; run the audit again";
      found.kind = Found::Kind::not_today;
      return found;
    }
    Result result = measure(opened);
    found.result = kept_result(result);
    if (plan.picture.draw) {
      if (plan.identities == Identities::pseudonyms) {
        result.provenance.image_file.clear();
        result.provenance.reading_file.clear();
        result.provenance.reader.clear();
      }
      result.judged = judge(result, criteria);
      write_whole(picture_file, plan.picture.draw(opened.film, result));
    }
    found.kind = Found::Kind::measured;
  } catch (const Refusal& refusal) {
    if (refusal.kind() == RefusalKind::unusable_machine)
      found.kind = Found::Kind::not_today;
    else if (refusal.kind() != RefusalKind::unusable_input)
      throw;
    found.reason = reason_of_refusal(refusal, reading_file, plan.identities);
  } catch (const std::bad_alloc&) {
    throw;
  } catch (const std::exception& error) {
    found.kind = Found::Kind::own_fault;
    found.reason = "a fault of the program itself, which it is good to report: " + std::string(error.what());
  }
  return found;
}

}  // namespace canalrule::audit
