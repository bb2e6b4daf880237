#include <algorithm>
#include <canalrule/audit/audit_folder.hpp>
#include <canalrule/audit/run.hpp>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/system.hpp>
#include <canalrule/base/whole_file.hpp>
#include <optional>
#include <string>
#include <system_error>
#include <vector>

#include "output_folder.hpp"
#include "pseudonyms.hpp"
#include "row_text.hpp"
#include "store.hpp"

namespace canalrule {

namespace fs = std::filesystem;

namespace audit {
namespace {

[[noreturn]] void refuse(const fs::path& folder, const std::string& what, const std::string& remedy) {
  throw Refusal(RefusalKind::unusable_input, folder.string(), "", what, remedy);
}

std::string words(const AuditPart& part) {
  return std::to_string(part.number) + "/" + std::to_string(part.of);
}

/// What in two parts of one audit must be the same; empty where it is.
std::string difference(const AuditHead& one, const AuditHead& other) {
  if (one.list_mark != other.list_mark || one.cases != other.cases) return "another case list";
  if (one.criteria_sha256 != other.criteria_sha256) return "other criteria";
  if (one.program != other.program || one.opencv != other.opencv) return "another version of the program";
  if (one.identities != other.identities) return "another choice of names or pseudonyms";
  if (one.pseudonyms_mark != other.pseudonyms_mark) return "another key of pseudonyms";
  return "";
}

/// The parts in their order. Refuses what isn't each part of one audit once.
std::vector<AuditFolder> in_order(const std::vector<fs::path>& folders) {
  std::vector<AuditFolder> parts;
  for (const fs::path& folder : folders) parts.emplace_back(folder);
  std::sort(parts.begin(), parts.end(),
            [](const AuditFolder& a, const AuditFolder& b) { return a.part().number < b.part().number; });
  const AuditFolder& first = parts.front();
  for (std::size_t i = 1; i < parts.size(); ++i) {
    const AuditFolder& each = parts[i];
    if (const std::string what = difference(first.head(), each.head()); !what.empty())
      refuse(each.folder(), "this part was made with " + what + " than " + first.folder().string(),
             "join the parts of one audit");
    if (each.part().of != first.part().of)
      refuse(each.folder(),
             "this is part " + words(each.part()) + ", and " + first.folder().string() + " part " +
                 words(first.part()),
             "join the parts of one audit");
    if (each.part() == parts[i - 1].part())
      refuse(each.folder(),
             "this is part " + words(each.part()) + ", and so is " + parts[i - 1].folder().string(),
             "name each part once");
  }
  std::string missing;
  for (std::size_t number = 1; number <= first.part().of; ++number)
    if (std::none_of(parts.begin(), parts.end(),
                     [&](const AuditFolder& each) { return each.part().number == number; }))
      missing += (missing.empty() ? "" : ", ") + std::to_string(number);
  if (!missing.empty())
    refuse(first.folder(),
           "of the " + std::to_string(first.part().of) + " parts of this audit there are missing: " + missing,
           "name all of them");
  return parts;
}

/// The lines of one part's rows, its head passed over.
class PartRows {
 public:
  explicit PartRows(const fs::path& folder) : file_(folder / rows_name), reader_(file_) { reader_.next(); }

  StoreLine next() {
    std::optional<StoreLine> line = reader_.next();
    if (!line) refuse(file_, "the file is damaged", "run this part again");
    return std::move(*line);
  }
  const fs::path& file() const { return file_; }

 private:
  fs::path file_;
  StoreReader reader_;
};

void copy_picture(const fs::path& from, const fs::path& to) {
  std::error_code error;
  if (fs::exists(to, error)) return;
  fs::path torn = to;
  torn.replace_filename("." + to.filename().string() + ".part");
  fs::copy_file(from, torn, fs::copy_options::overwrite_existing, error);
  if (!error) fs::rename(torn, to, error);
  if (error)
    throw Refusal(RefusalKind::unwritable_output, to.string(), "",
                  "the picture " + from.string() + " can't be copied here: " + error.message(),
                  "check that the part is whole and that the folder has room");
}

void join_keys(const std::vector<AuditFolder>& parts, const fs::path& key_file) {
  std::optional<Pseudonyms> all;
  for (const AuditFolder& part : parts) {
    const fs::path file = key_file_beside(part.folder());
    std::error_code ignored;
    if (!fs::exists(file, ignored)) continue;
    const Pseudonyms key = Pseudonyms::in_file(file);
    if (key.mark() != part.head().pseudonyms_mark)
      refuse(file, "this is not the key that the part beside it was made with",
             "take it away, or run the part again");
    if (!all)
      all = key;
    else
      all->take_over(key);
  }
  if (all) all->write_key(key_file);
}

}  // namespace
}  // namespace audit

void join_audits(const std::vector<fs::path>& folders, const fs::path& output, const fs::path& key_file) {
  using namespace audit;
  const std::vector<AuditFolder> parts = in_order(folders);
  for (const AuditFolder& part : parts) {
    std::error_code ignored;
    if (fs::equivalent(part.folder(), output, ignored))
      throw Refusal(RefusalKind::wrong_use, "--output", "",
                    "the parts would be joined in the folder of one of them", "name another folder");
  }
  const FolderHold hold(opened_output(output));
  remove_torn_files(output);
  remove_torn_files(output / pictures_name);
  const AuditHead& head = parts.front().head();
  std::vector<PartRows> rows;
  for (const AuditFolder& part : parts) rows.emplace_back(part.folder());
  RowsWriter out(output, head, AuditPart{});
  for (std::size_t index = 0; index < head.cases; ++index) {
    const std::size_t from = index % parts.size();
    const StoreLine line = rows[from].next();
    const std::string picture = out.add(line, rows[from].file().string());
    if (!picture.empty()) copy_picture(parts[from].folder() / picture, output / picture);
  }
  if (head.identities == Identities::pseudonyms) join_keys(parts, key_file);
  out.commit();
}

}  // namespace canalrule
