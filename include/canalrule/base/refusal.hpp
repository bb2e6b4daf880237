#pragma once

#include <stdexcept>
#include <string>

namespace canalrule {

/// Whose fault it is that nothing can be done; the program's exit code follows from it.
enum class RefusalKind {
  wrong_use,        ///< the command line: exit code 2
  unusable_input,   ///< a film, reading or criteria file: exit code 3
  unusable_machine, ///< what is needed to read them isn't there; another day they may serve: exit code 3
  unwritable_output ///< a file that can't be written: exit code 4
};

/// Thrown for bad input, and for nothing else: a figure that can't be measured is part of a result,
/// and a fault of our own stops the program (see fault.hpp).
class Refusal : public std::runtime_error {
 public:
  /// `where` names the file or the option, `field` the JSON pointer or the DICOM attribute inside it
  /// (empty where the whole file is meant), `what` what is wrong with the value found, `remedy` what
  /// was expected or what to do. The message is one line: "where: field: what; remedy".
  Refusal(RefusalKind kind, std::string where, std::string field, std::string what, std::string remedy);

  RefusalKind kind() const noexcept { return kind_; }
  const std::string& where() const noexcept { return where_; }
  const std::string& field() const noexcept { return field_; }
  const std::string& problem() const noexcept { return problem_; }
  const std::string& remedy() const noexcept { return remedy_; }

 private:
  RefusalKind kind_;
  std::string where_;
  std::string field_;
  std::string problem_;
  std::string remedy_;
};

}  // namespace canalrule
