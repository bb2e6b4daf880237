#include <canalrule/desk/journal.hpp>

#include <cerrno>
#include <stdexcept>
#include <system_error>
#include <utility>

#include <nlohmann/json.hpp>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>

#include "edit_json.hpp"

namespace canalrule::desk {

namespace {

using nlohmann::json;

constexpr const char* schema = "canalrule.journal/1";

/// Text that isn't UTF-8 is written as the reading writes it, with U+FFFD in place of what is wrong.
std::string line_of(const json& value) {
  return value.dump(-1, ' ', false, json::error_handler_t::replace) + "\n";
}

[[noreturn]] void refuse(const std::string& name, std::size_t line, const std::string& what) {
  throw Refusal(RefusalKind::unusable_input, name, "line " + std::to_string(line), what,
                "move the file away to begin without it");
}

JournalStart start_from(const json& value) {
  if (value.at("schema").get<std::string>() != schema) throw std::invalid_argument("an unknown schema");
  return {value.at("film_sha256").get<std::string>(), value.at("reader").get<std::string>(),
          drawing_from(value.at("drawing"))};
}

}  // namespace

std::string journal_line(const JournalStart& start) {
  return line_of({{"schema", schema},
                  {"film_sha256", start.film_sha256},
                  {"reader", start.reader},
                  {"drawing", json_of(start.drawing)}});
}

std::string journal_line(const Edit& edit) { return line_of(json_of(edit)); }

Journal parse_journal(std::string_view text, const std::string& name) {
  if (text.empty()) refuse(name, 1, "the journal is empty");
  Journal journal;
  Drawing drawing;
  for (std::size_t line = 1; !text.empty(); ++line) {
    const std::size_t end = text.find('\n');
    if (end == std::string_view::npos && line > 1) {
      journal.cut_short = true;
      break;
    }
    try {
      const json value = json::parse(text.substr(0, end));
      if (line == 1) {
        journal.start = start_from(value);
        drawing = journal.start.drawing;
      } else {
        journal.edits.push_back(edit_from(value));
        if (!applies(drawing, journal.edits.back()))
          refuse(name, line, "the edit is on a mark that isn't there");
        drawing = applied(std::move(drawing), journal.edits.back());
      }
    } catch (const json::exception& error) {
      refuse(name, line, std::string("this is no line of a journal of edits (") + error.what() + ")");
    } catch (const std::invalid_argument& error) {
      refuse(name, line, std::string("this is no line of a journal of edits (") + error.what() + ")");
    }
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
  }
  return journal;
}

Drawing replay(const Journal& journal) {
  Drawing drawing = journal.start.drawing;
  for (const Edit& edit : journal.edits) drawing = applied(std::move(drawing), edit);
  return drawing;
}

JournalWriter::JournalWriter(std::filesystem::path file, const JournalStart& start) : file_(std::move(file)) {
  const std::string first = journal_line(start);
  write_whole(file_, first);
  whole_bytes_ = first.size();
  out_.open(file_, std::ios::binary | std::ios::app);
}

void JournalWriter::append(const Edit& edit) {
  const std::string line = journal_line(edit);
  errno = 0;
  out_ << line << std::flush;
  if (out_) {
    whole_bytes_ += line.size();
    return;
  }
  const int error = errno;
  out_.close();
  std::error_code ignored;
  std::filesystem::resize_file(file_, whole_bytes_, ignored);
  throw Refusal(
      RefusalKind::unwritable_output, file_.string(), "",
      "can't be appended to: " + (error != 0 ? std::system_category().message(error) : "the disk refused it"),
      "check that the folder can be written and has room");
}

}  // namespace canalrule::desk
