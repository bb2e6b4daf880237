#pragma once

#include <csignal>
#include <cstdlib>
#include <functional>
#include <stdexcept>
#include <string>

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace desk_test {

/// Runs a part of a test in a process of its own, for what a process does to itself. The part throws
/// std::logic_error for what doesn't hold; the words of it come back, empty where all held.
inline std::string in_child(const std::function<void()>& part) {
  int way[2] = {-1, -1};
  if (pipe(way) != 0) return "no pipe";
  const pid_t child = fork();
  if (child == 0) {
    std::string words;
    try {
      part();
    } catch (const std::exception& error) {
      words = std::string("failed: ") + error.what();
    }
    _exit(words.empty() || write(way[1], words.data(), words.size()) > 0 ? 0 : 1);
  }
  close(way[1]);
  std::string words;
  char buffer[512];
  for (ssize_t size = 0; (size = read(way[0], buffer, sizeof buffer)) > 0;)
    words.append(buffer, static_cast<std::size_t>(size));
  close(way[0]);
  int status = 0;
  waitpid(child, &status, 0);
  return WIFEXITED(status) && WEXITSTATUS(status) == 0 ? words : words + " (the process ended early)";
}

inline void hold(bool held, const std::string& what) {
  if (!held) throw std::logic_error(what);
}

/// Runs a part and kills its process without warning where it stands at its end.
inline void killed_after(const std::function<void()>& part) {
  const pid_t child = fork();
  if (child == 0) {
    try {
      part();
    } catch (...) {
      _exit(1);
    }
    kill(getpid(), SIGKILL);
    _exit(1);
  }
  int status = 0;
  waitpid(child, &status, 0);
}

/// From now on no file of this process may grow beyond so many bytes: what a full disk does, on any machine.
inline void disk_full_beyond(rlim_t bytes) {
  std::signal(SIGXFSZ, SIG_IGN);
  const rlimit limit{bytes, RLIM_INFINITY};
  setrlimit(RLIMIT_FSIZE, &limit);
}

/// Gives up a superuser's right to write everywhere; folders and files of the superuser are then read-only.
inline void as_nobody() {
  if (geteuid() == 0) hold(setgid(65534) == 0 && setuid(65534) == 0, "the superuser's rights are given up");
}

}  // namespace desk_test
