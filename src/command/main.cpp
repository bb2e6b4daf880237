#include <array>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <new>
#include <string>
#include <string_view>
#include <vector>

#include <opencv2/core.hpp>
#include <opencv2/core/ocl.hpp>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/version.hpp>
#include <canalrule/dicom/version.hpp>

#include "program_path.hpp"
#include "standard_output.hpp"
#include "subcommand.hpp"
#include "tell.hpp"

namespace canalrule::command {

namespace {

constexpr std::array subcommands{
    Subcommand{"measure", "measure the root canal fillings on films", measure_help, run_measure},
    Subcommand{"draw", "mark films in a window and read the measurement there", draw_help, run_draw},
    Subcommand{"audit", "measure many cases and say how many meet the criteria", audit_help, run_audit_command},
    Subcommand{"plan-audit", "say how many cases an audit needs, and draw them", plan_audit_help, run_plan_audit},
    Subcommand{"grade", "mark a class's films by a rubric, with feedback pages", grade_help, run_grade},
    Subcommand{"simulate", "make a film whose measurements are known exactly", simulate_help, run_simulate},
    Subcommand{"criteria", "list the criteria that results can be judged by", criteria_help, run_criteria},
};

std::string general_help() {
  std::string text =
      "Usage: canalrule SUBCOMMAND ...\n\n"
      "Measures root canal fillings on periapical radiographs: where a fill ends\n"
      "relative to the radiographic apex, gaps in it, its width and its taper, in\n"
      "millimetres and with their uncertainty.\n\nSubcommands:\n";
  for (const Subcommand& subcommand : subcommands) {
    std::string line = "  " + std::string(subcommand.name);
    line.resize(14, ' ');
    text += line + std::string(subcommand.summary) + '\n';
  }
  text +=
      "  help        print the help of a subcommand: canalrule help measure\n\n"
      "Options:\n"
      "  --help      print this text\n"
      "  --version   print the versions of the program and of what it reads films with\n\n"
      "Exit codes:\n"
      "  0 fine   2 wrong use   3 a film, reading or other input can't be used\n"
      "  4 an output can't be written   5 a list ended, some of its cases failed\n"
      "  6 an audit was stopped   70 a fault of the program itself\n\n"
      "The figures describe a projection, not a volume, and are no diagnosis: a\n"
      "licensed clinician judges. No exposure is ever justified by a measurement.\n";
  return text;
}

std::string versions() {
  return "canalrule " + std::string(version()) + "\nOpenCV " + cv::getVersionString() + "\nDCMTK " +
         dicom::toolkit_version() + '\n';
}

const Subcommand& subcommand_called(const std::string& name) {
  for (const Subcommand& subcommand : subcommands)
    if (subcommand.name == name) return subcommand;
  throw Refusal(RefusalKind::wrong_use, name, "", "there is no such subcommand", "see canalrule --help");
}

std::string help_on(const std::vector<std::string>& topics) {
  if (topics.empty()) return general_help();
  if (topics.size() > 1)
    throw Refusal(RefusalKind::wrong_use, "help", "", "more than one subcommand is named", "name one");
  return subcommand_called(topics.front()).help();
}

ExitCode run(const std::string& started_as, std::vector<std::string> arguments) {
  if (arguments.empty()) {
    std::fputs(general_help().c_str(), stderr);
    return ExitCode::wrong_use;
  }
  const std::string name = arguments.front();
  arguments.erase(arguments.begin());
  if (name == "help" || name == "--help" || name == "-h") {
    print(help_on(arguments));
    return ExitCode::fine;
  }
  if (name == "--version") {
    print(versions());
    return ExitCode::fine;
  }
  const char* search_path = std::getenv("PATH");
  return subcommand_called(name).run(
      {.arguments = std::move(arguments),
       .program = program_path(started_as, search_path == nullptr ? "" : search_path)});
}

/// Called by OpenCV before it throws an error of its own.
int throw_if_memory_ran_out(int code, const char*, const char*, const char*, int, void*) {
  if (code == cv::Error::StsNoMem) throw std::bad_alloc();
  return 0;
}

}  // namespace

}  // namespace canalrule::command

int main(int count, char** words) {
  using canalrule::command::ExitCode;
  // The same bytes on every machine: no share of the work depends on its cores or its graphics card.
  cv::setNumThreads(1);
  cv::ocl::setUseOpenCL(false);
  cv::redirectError(canalrule::command::throw_if_memory_ran_out);
  ExitCode code = ExitCode::own_fault;
  try {
    const std::vector<std::string> arguments(words + (count > 0 ? 1 : 0), words + count);
    code = canalrule::command::run(count > 0 ? words[0] : "", arguments);
  } catch (const canalrule::Refusal& refusal) {
    code = canalrule::command::tell(refusal);
  } catch (const std::bad_alloc&) {
    std::fputs("canalrule: the memory did not suffice\n", stderr);
  } catch (const std::exception& error) {
    canalrule::command::tell_fault(error.what());
  }
  return static_cast<int>(code);
}
