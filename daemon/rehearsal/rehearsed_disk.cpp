#include "rehearsal/rehearsed_disk.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <random>
#include <system_error>
#include <utility>

#include <unistd.h>

#include "shell/second_copy.h"

namespace limegate::rehearsal {
namespace {

constexpr std::array<const char*, 3> kFiles{"", "-wal", "-shm"};

std::string copy_of(const std::string& file, Duration name) {
  return file + "-copy-" + std::to_string(name.count());
}

class GuardStore : public guard::RecordStore {
 public:
  explicit GuardStore(RehearsedDisk& disk) : disk_(disk) {}
  void save(const guard::Record& record, Reply reply) override {
    disk_.save(record, std::move(reply));
  }

 private:
  RehearsedDisk& disk_;
};

}  // namespace

std::string scratch_place() {
  constexpr const char* memory = "/dev/shm";
  return access(memory, W_OK | X_OK) == 0 ? memory
                                          : std::filesystem::temp_directory_path().string();
}

RehearsedDisk::~RehearsedDisk() {
  ledger_.reset();
  judge_.reset();
  std::error_code ignored;
  if (!scratch_.empty()) {
    std::filesystem::remove_all(scratch_, ignored);
  }
}

tl::expected<std::unique_ptr<RehearsedDisk>, std::string> RehearsedDisk::make(
    const std::string& where, const std::string& station, const journal::Boot& boot) {
  std::string directory = where + "/limegate-rehearsal-XXXXXX";
  if (mkdtemp(directory.data()) == nullptr) {
    return tl::unexpected("A rehearsal needs a scratch directory in " + where + ": " +
                          std::generic_category().message(errno) + ".");
  }
  auto disk = std::make_unique<RehearsedDisk>(
      Files{directory + "/ledger.db", directory + "/guard", directory + "/witness"}, station);
  disk->scratch_ = directory;
  disk->unsynced_ = std::make_unique<UnsyncedWrites>(directory);
  const auto prepared = journal::Ledger::prepare(disk->files_.ledger, {station}, boot);
  if (!prepared) {
    return tl::unexpected("A rehearsal's ledger can't be made in " + where + ": " +
                          prepared.error().detail + ".");
  }
  return disk;
}

std::optional<RehearsedDisk::Opened> RehearsedDisk::open(const journal::Boot& boot) {
  ledger_.reset();
  auto ledger =
      room_ == Room::enough
          ? journal::Ledger::open(
                files_.ledger, {{station_, shell::second_copy_of(guard_record()), witness()}}, boot)
          : tl::unexpected(journal::StorageError{journal::StorageFault::no_room, ""});
  if (!ledger) {
    return std::nullopt;
  }
  auto history = ledger->history(station_, boot);
  if (!history || !ledger->prove_writable()) {
    return std::nullopt;
  }
  ledger_.emplace(std::move(*ledger));
  bear_witness();
  return Opened{*history, ledger_->notes()};
}

std::optional<guard::Record> RehearsedDisk::guard_record() const {
  return guard::read_record(files_.guard);
}

std::optional<journal::Witness> RehearsedDisk::witness() const {
  return files_.witness.empty() ? std::nullopt : journal::read_witness(files_.witness);
}

std::unique_ptr<guard::RecordStore> RehearsedDisk::guard_store() {
  return std::make_unique<GuardStore>(*this);
}

void RehearsedDisk::lose_ledger() {
  ledger_.reset();
  judge_.reset();
  for (const char* suffix : kFiles) {
    std::error_code ignored;
    std::filesystem::remove(files_.ledger + suffix, ignored);
  }
}

void RehearsedDisk::copy_state(Duration name) {
  // Nobody writes between two seconds: all files are of one moment.
  for (const std::string& file : {files_.ledger, files_.ledger + "-wal", files_.guard}) {
    std::error_code ignored;
    std::filesystem::copy_file(file, copy_of(file, name),
                               std::filesystem::copy_options::overwrite_existing, ignored);
  }
}

void RehearsedDisk::put_back(Duration name, Copied what) {
  if (!std::filesystem::exists(copy_of(files_.ledger, name))) {
    return;
  }
  lose_ledger();
  for (const std::string& file : {files_.ledger, files_.ledger + "-wal", files_.guard}) {
    if (what == Copied::all || file != files_.guard) {
      std::error_code ignored;
      std::filesystem::rename(copy_of(file, name), file, ignored);
    }
  }
}

void RehearsedDisk::bear_witness() {
  if (files_.witness.empty() || !ledger_) {
    return;
  }
  if (const auto known = ledger_->witness_of(station_)) {
    (void)journal::write_witness(files_.witness, *known);
  }
}

void RehearsedDisk::damage_ledger(double where) {
  ledger_.reset();
  judge_.reset();
  std::fstream file{files_.ledger, std::ios::in | std::ios::out | std::ios::binary};
  std::error_code error;
  const auto size = std::filesystem::file_size(files_.ledger, error);
  if (error || size == 0) {
    return;
  }
  const auto at =
      static_cast<std::streamoff>(std::clamp(where, 0.0, 1.0) * static_cast<double>(size - 1));
  file.seekg(at);
  const int byte = file.get();
  file.seekp(at);
  file.put(static_cast<char>(static_cast<unsigned>(byte) ^ 0x04U));
}

std::optional<Millilitres> RehearsedDisk::counted(std::int64_t pulse) const {
  if (!judge_) {
    auto database =
        journal::Database::open(files_.ledger, journal::Creating::no, journal::Sync::normal);
    if (!database) {
      return std::nullopt;
    }
    judge_.emplace(std::move(*database));
  }
  const auto row = judge_->prepare("SELECT counted_ul FROM pulses WHERE station = ?1 AND id = ?2");
  row->bind(station_, pulse);
  const auto found = row->next();
  return found && *found ? std::optional{Millilitres{static_cast<double>(row->integer(0)) / 1000.0}}
                         : std::nullopt;
}

std::optional<std::string> RehearsedDisk::store(const station::Entry& entry, WallTime now) {
  if (room_ == Room::none) {
    ledger_.reset();
    return "no room on the rehearsed disk";
  }
  if (!ledger_) {
    return "the ledger is closed after a fault";
  }
  if (const auto done = ledger_->write(station_, entry, now); !done) {
    ledger_.reset();
    return done.error().text();
  }
  return std::nullopt;
}

/// What the disk holds is found out while the connection is open: its end would write and sync.
void RehearsedDisk::cut_power() {
  if (!waiting_.empty()) {
    unsynced_->cut_power_at_next_sync();
    cutting_ = true;
    waiting_.front().write();
    cutting_ = false;
  }
  std::minstd_rand random{static_cast<std::minstd_rand::result_type>(
      std::chrono::duration_cast<std::chrono::seconds>(world_).count() + 1)};
  random.discard(1);
  constexpr std::uint32_t parts = 8;
  const auto stays = random() % (parts + 1);  // nothing, all of it, or something between
  const auto files = unsynced_->after_power_cut([&] { return random() % parts < stays; });
  lose_ledger();
  for (const auto& [path, content] : files) {
    std::ofstream{path, std::ios::binary} << content;
  }
  unsynced_->forget();
}

void RehearsedDisk::close(Gone what) {
  if (what == Gone::power && unsynced_ && ledger_) {
    cut_power();
  } else if (what == Gone::program && !waiting_.empty()) {
    waiting_.front().write();
  }
  waiting_.clear();
  busy_until_ = world_;
  ledger_.reset();
}

void RehearsedDisk::in_turn(std::function<void()> write) {
  busy_until_ = std::max(busy_until_, world_) + write_takes_;
  if (busy_until_ == world_) {
    write();
  } else {
    waiting_.push_back({busy_until_, std::move(write)});
  }
}

void RehearsedDisk::second(Duration world) {
  world_ = world;
  for (; !waiting_.empty() && waiting_.front().due <= world_; waiting_.pop_front()) {
    waiting_.front().write();
  }
}

void RehearsedDisk::write(const std::string& /*station*/, const station::Entry& entry, WallTime now,
                          Reply reply) {
  if (!program_.acts()) {
    return;
  }
  in_turn([this, entry, now, asked = world_, reply = std::move(reply)] {
    const auto fault = store(entry, now);
    if (cutting_) {
      return;
    }
    const auto* begun = std::get_if<station::AppendPulse>(&entry);
    const auto* closed = std::get_if<station::ClosePulse>(&entry);
    if (begun != nullptr && !fault) {
      newest_pulse_ = begun->pulse.id;
    }
    if (!fault && journal::changes_witness(entry)) {
      bear_witness();
    }
    if ((begun != nullptr || closed != nullptr) && !fault) {
      program_.wrote_pulse(begun != nullptr ? begun->pulse.id : closed->id);
    }
    if (fault) {
      program_.refused_row();
    } else if (begun != nullptr || std::holds_alternative<station::AppendStir>(entry)) {
      program_.wrote_row(world_ - asked);
    }
    program_.post([fault, reply] { reply(fault); });
  });
}

void RehearsedDisk::save(const guard::Record& record, guard::RecordStore::Reply reply) {
  if (!program_.acts()) {
    return;
  }
  in_turn([this, record, reply = std::move(reply)] {
    if (cutting_) {
      return;
    }
    const auto saved = room_ == Room::enough ? guard::write_record(files_.guard, record)
                                             : guard::RecordStore::Saved::failed;
    program_.post([saved, reply] { reply(saved); });
  });
}

}  // namespace limegate::rehearsal
