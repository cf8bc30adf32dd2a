#include "support/shared_clock.h"

#include <chrono>
#include <stdexcept>

#include <fcntl.h>
#include <sys/mman.h>
#include <unistd.h>

namespace limegate::test {
namespace {

// 2026-03-01 06:00:00 UTC, a date of our own.
constexpr Duration kStartWall = std::chrono::seconds{1772344800};
constexpr Duration kStartMono = std::chrono::hours{1};

}  // namespace

SharedClock::SharedClock(const std::string& path) : path_(path) {
  const int file = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  const auto size = static_cast<off_t>(sizeof(Face));
  const bool fresh = file >= 0 && ::lseek(file, 0, SEEK_END) < size;
  if (file < 0 || (fresh && ::ftruncate(file, size) != 0)) {
    throw std::runtime_error("can't make a clock of " + path);
  }
  void* memory = ::mmap(nullptr, sizeof(Face), PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
  ::close(file);
  if (memory == MAP_FAILED) {  // NOLINT: a macro of the system's
    throw std::runtime_error("can't map " + path);
  }
  face_ = static_cast<Face*>(memory);
  if (fresh) {
    face_->mono = kStartMono.count();
    face_->wall = kStartWall.count();
    face_->boot = 1;
    face_->ticks = -1;
  }
}

SharedClock::~SharedClock() { ::munmap(face_, sizeof(Face)); }

Moment SharedClock::now() const {
  return {Instant{Duration{face_->mono.load()}}, WallTime{Duration{face_->wall.load()}},
          face_->unset.load() == 0};
}

void SharedClock::advance(Duration by) {
  face_->mono += by.count();
  face_->wall += by.count();
}

void SharedClock::step_wall(Duration by) { face_->wall += by.count(); }

void SharedClock::reboot(WallTime wall, Duration up) {
  face_->boot += 1;
  face_->mono = up.count();
  face_->wall = wall.time_since_epoch().count();
}

std::string SharedClock::boot_id() const { return "boot-" + std::to_string(face_->boot.load()); }

void SharedClock::grant_ticks(std::int64_t ticks) { face_->ticks = ticks; }

bool SharedClock::take_tick() {
  std::int64_t left = face_->ticks.load();
  // A grant may come in between; taken from what was there before, it would become a boundless one.
  while (left > 0 && !face_->ticks.compare_exchange_weak(left, left - 1)) {
  }
  if (left == 0) {
    ++face_->missed;
  }
  return left != 0;
}

std::int64_t SharedClock::ticks_missed() const { return face_->missed.load(); }

}  // namespace limegate::test
