#pragma once

namespace canalrule::command {

/// From here on Ctrl-C, or the signal by which a scheduler ends a job, asks the program to stop where it does
/// so cleanly. A second one ends it at once.
void listen_for_stop();

/// Whether it has been asked to.
bool stop_requested() noexcept;

}  // namespace canalrule::command
