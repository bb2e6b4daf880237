#include "audit_progress.hpp"

#include <algorithm>
#include <canalrule/base/utf8.hpp>
#include <canalrule/base/plain.hpp>
#include <canalrule/base/system.hpp>
#include <cmath>
#include <cstdio>

namespace canalrule::command {

namespace {

using Seconds = std::chrono::duration<double>;

constexpr Seconds between_bars{0.1};    // smooth to the eye; chosen here
constexpr Seconds between_lines{30.0};  // a line twice a minute is enough for a log; chosen here
constexpr std::size_t bar_width = 20;

std::string time_words(double seconds) {
  const auto whole = static_cast<long long>(std::ceil(seconds));
  if (whole < 60) return std::to_string(whole) + " s";
  if (whole < 3600) return std::to_string(whole / 60) + " min " + std::to_string(whole % 60) + " s";
  return std::to_string(whole / 3600) + " h " + std::to_string(whole % 3600 / 60) + " min";
}

std::string bar(const AuditProgress& progress) {
  const std::size_t full = progress.cases == 0 ? bar_width : bar_width * progress.done / progress.cases;
  return "[" + std::string(full, '#') + std::string(bar_width - full, ' ') + "] ";
}

}  // namespace

std::string progress_words(const AuditProgress& progress, Seconds elapsed) {
  std::string words = std::to_string(progress.done) + " of " + std::to_string(progress.cases) + " cases";
  // The rate is that of measuring: what was kept from before takes no time and says nothing of what is left.
  if (progress.measured > 0 && elapsed.count() > 0.0) {
    const double rate = static_cast<double>(progress.measured) / elapsed.count();
    words += ", " + plain(rate, rate < 10.0 ? 1 : 0) + " films per second";
    if (progress.done < progress.cases)
      words += ", about " + time_words(static_cast<double>(progress.cases - progress.done) / rate) + " left";
  }
  if (progress.kept > 0) words += ", " + std::to_string(progress.kept) + " as measured before";
  if (progress.failed > 0) words += ", " + std::to_string(progress.failed) + " failed";
  return words;
}

ProgressDisplay::ProgressDisplay()
    : on_terminal_(standard_error_is_terminal()), start_(Clock::now()), last_(start_) {}

void ProgressDisplay::show(const AuditProgress& progress) {
  const Clock::time_point now = Clock::now();
  if (now - last_ < (on_terminal_ ? between_bars : between_lines)) return;
  last_ = now;
  draw(progress);
}

void ProgressDisplay::draw(const AuditProgress& progress) {
  const std::string words = progress_words(progress, Clock::now() - start_);
  if (on_terminal_) {
    clear();
    std::fputs((bar(progress) + words).c_str(), stderr);
    bar_stands_ = true;
  } else {
    std::fputs((words + '\n').c_str(), stderr);
  }
  std::fflush(stderr);
}

void ProgressDisplay::clear() {
  if (bar_stands_) std::fputs("\r\033[K", stderr);  // ECMA-48, 8.3.41: erase in line
  bar_stands_ = false;
}

void ProgressDisplay::say(const std::string& line) {
  clear();
  std::fputs((printable_line(line) + '\n').c_str(), stderr);
}

void ProgressDisplay::finish(const AuditProgress& progress) {
  draw(progress);
  if (on_terminal_) std::fputc('\n', stderr);
  bar_stands_ = false;
}

}  // namespace canalrule::command
