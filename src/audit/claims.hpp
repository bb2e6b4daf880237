#pragma once

#include <condition_variable>
#include <mutex>
#include <set>
#include <string>

namespace canalrule::audit {

/// The cases that workers are busy with, by key.
class Claims {
 public:
  void take(const std::string& key) {
    std::unique_lock lock(mutex_);
    given_back_.wait(lock, [&] { return !taken_.contains(key); });
    taken_.insert(key);
  }
  void give_back(const std::string& key) {
    {
      const std::lock_guard lock(mutex_);
      taken_.erase(key);
    }
    given_back_.notify_all();
  }

 private:
  std::mutex mutex_;
  std::condition_variable given_back_;
  std::set<std::string> taken_;
};

/// Holds one case, so that no second worker measures an equal one meanwhile: it waits, and finds it measured.
class Claim {
 public:
  Claim(Claims& claims, std::string key) : claims_(claims), key_(std::move(key)) { claims_.take(key_); }
  ~Claim() { claims_.give_back(key_); }
  Claim(const Claim&) = delete;
  Claim& operator=(const Claim&) = delete;

 private:
  Claims& claims_;
  std::string key_;
};

}  // namespace canalrule::audit
