#include "stop_request.hpp"

#include <atomic>
#include <csignal>

namespace canalrule::command {

namespace {

/// A signal reaches the whole process and carries nothing along: it can only be noted down in one place for
/// all.
std::atomic<bool> requested = false;
static_assert(std::atomic<bool>::is_always_lock_free);

extern "C" void note_stop(int signal) {
  requested = true;
  std::signal(signal, SIG_DFL);
}

}  // namespace

void listen_for_stop() {
  std::signal(SIGINT, note_stop);
  std::signal(SIGTERM, note_stop);
}

bool stop_requested() noexcept { return requested; }

}  // namespace canalrule::command
