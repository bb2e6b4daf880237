#pragma once

#include <canalrule/audit/run.hpp>
#include <chrono>
#include <string>

namespace canalrule::command {

/// "512 of 1000 cases, 3.1 films per second, about 2 min 36 s left, 20 as measured before, 3 failed"
std::string progress_words(const AuditProgress& progress, std::chrono::duration<double> elapsed);

/// Shows on standard error how far an audit has come: a bar on a terminal, a line now and then elsewhere.
class ProgressDisplay {
 public:
  ProgressDisplay();

  void show(const AuditProgress& progress);
  /// A line of its own; the bar stands below it.
  void say(const std::string& line);
  /// The last state, in full.
  void finish(const AuditProgress& progress);

 private:
  using Clock = std::chrono::steady_clock;
  void draw(const AuditProgress& progress);
  void clear();

  bool on_terminal_ = false;
  bool bar_stands_ = false;
  Clock::time_point start_, last_;
};

}  // namespace canalrule::command
