#include "support/slave.h"

#include <algorithm>
#include <cerrno>
#include <future>
#include <system_error>
#include <utility>

#include <poll.h>
#include <sys/eventfd.h>
#include <unistd.h>

namespace limegate::test {
namespace {

std::uint8_t another_function(std::uint8_t function) {
  return static_cast<std::uint8_t>(function % 2 == 0 ? function - 1 : function + 1);
}

bool is_read(const SlaveBytes& pdu) { return pdu[0] >= 1 && pdu[0] <= 4; }

/// The reply PDU as a misbehaving device builds it, before framing.
SlaveBytes spoiled(SlaveBytes pdu, Misbehaviour how) {
  if (how == Misbehaviour::wrong_function) {
    pdu[0] = another_function(pdu[0]);
  }
  if (how == Misbehaviour::wrong_byte_count && is_read(pdu)) {
    --pdu[1];
  }
  if (how == Misbehaviour::wrong_length) {
    if (is_read(pdu)) {
      const unsigned extra = pdu[0] <= 2 ? 1 : 2;
      pdu[1] = static_cast<std::uint8_t>(pdu[1] + extra);
      pdu.resize(pdu.size() + extra, 0);
    } else {
      pdu.back() ^= 1U;
    }
  }
  return pdu;
}

}  // namespace

Slave::Slave(Transport transport, const ports::Clock& clock) : clock_(clock), model_(clock) {
  if (transport == Transport::tcp) {
    auto port = std::make_unique<SlaveTcpPort>();
    tcp_ = port.get();
    port_ = std::move(port);
  } else {
    auto port = std::make_unique<SlavePtyPort>();
    pty_ = port.get();
    port_ = std::move(port);
  }
  port_->open();
  wake_ = ::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
  if (wake_ < 0) {
    throw std::system_error(errno, std::system_category(), "eventfd");
  }
  thread_ = std::thread{[this] { work(); }};
}

Slave::~Slave() {
  {
    const std::lock_guard lock{mutex_};
    stopping_ = true;
  }
  changed_.notify_all();
  wake();
  thread_.join();
  ::close(wake_);
}

int Slave::port() const { return tcp_->number(); }
const std::string& Slave::path() const { return pty_->path(); }

void Slave::work() {
  while (true) {
    std::vector<pollfd> watched{{wake_, POLLIN, 0}};
    for (const int descriptor : port_->descriptors()) {
      watched.push_back({descriptor, POLLIN, 0});
    }
    ::poll(watched.data(), watched.size(), -1);
    if (watched.front().revents != 0) {
      run_tasks();
    }
    {
      const std::lock_guard lock{mutex_};
      if (stopping_) {
        return;
      }
    }
    for (std::size_t i = 1; i < watched.size(); ++i) {
      if (watched[i].revents == 0) {
        continue;
      }
      const auto open = port_->descriptors();  // a task or a request may have closed some
      if (std::find(open.begin(), open.end(), watched[i].fd) == open.end()) {
        continue;
      }
      for (const SlaveRequest& request : port_->receive(watched[i].fd)) {
        handle(request);
      }
    }
  }
}

void Slave::handle(const SlaveRequest& request) {
  std::optional<SlaveFault> fault;
  {
    const std::lock_guard lock{mutex_};
    units_asked_.push_back(request.unit);
    fault = take_fault(request.unit);
    if (!model_.has(request.unit)) {
      return;
    }
  }
  if (fault && fault->how == Misbehaviour::silent) {
    return;
  }
  SlaveBytes reply;
  if (fault && fault->how == Misbehaviour::exception) {
    reply = {static_cast<std::uint8_t>(request.pdu[0] | 0x80), fault->code};
  } else {
    tell(Event::Phase::before, request);
    {
      const std::lock_guard lock{mutex_};
      reply = model_.execute(request.unit, request.pdu);
    }
    tell(Event::Phase::after, request);
  }
  answer(request, std::move(reply), fault);
}

void Slave::answer(const SlaveRequest& request, SlaveBytes pdu,
                   const std::optional<SlaveFault>& fault) {
  // A refusal is sent like a right answer, so it stands for "nothing wrong" from here on.
  const Misbehaviour how = fault ? fault->how : Misbehaviour::exception;
  if (how == Misbehaviour::drop_reply) {
    return;
  }
  if (how == Misbehaviour::late) {
    wait(fault->delay);
  }
  const int unit = how == Misbehaviour::wrong_unit ? request.unit + 1 : request.unit;
  const auto check =
      how == Misbehaviour::bad_check ? SlavePort::Check::wrong : SlavePort::Check::right;
  SlaveBytes bytes(how == Misbehaviour::stray_byte ? 1 : 0, 0);
  const SlaveBytes frame = port_->frame(request, unit, spoiled(std::move(pdu), how), check);
  bytes.insert(bytes.end(), frame.begin(), frame.end());
  if (how == Misbehaviour::half_frame) {
    bytes.resize(bytes.size() / 2);
  }
  if (how != Misbehaviour::trickle) {
    return port_->send(request.descriptor, bytes);
  }
  for (const std::uint8_t byte : bytes) {
    port_->send(request.descriptor, std::span{&byte, 1});
    wait(fault->delay);
  }
}

std::optional<SlaveFault> Slave::take_fault(int unit) {
  const auto fits = [unit](const SlaveFault& fault) { return !fault.unit || *fault.unit == unit; };
  const auto found = std::find_if(faults_.begin(), faults_.end(), fits);
  if (found == faults_.end()) {
    return std::nullopt;
  }
  const SlaveFault fault = *found;
  if (--found->requests <= 0) {
    faults_.erase(found);
  }
  return fault;
}

void Slave::tell(Event::Phase phase, const SlaveRequest& request) {
  std::function<void(const Event&)> callback;
  {
    const std::lock_guard lock{mutex_};
    callback = callback_;
  }
  const auto address = static_cast<std::uint16_t>(request.pdu[1] << 8 | request.pdu[2]);
  if (callback) {
    callback({phase, request.unit, request.pdu[0], address});
  }
}

void Slave::wait(std::chrono::milliseconds delay) {
  std::unique_lock lock{mutex_};
  changed_.wait_for(lock, delay, [this] { return stopping_; });
}

void Slave::wake() const {
  const std::uint64_t one = 1;
  [[maybe_unused]] const auto size = ::write(wake_, &one, sizeof one);
}

void Slave::in_thread(const std::function<void()>& task) {
  std::promise<void> done;
  {
    const std::lock_guard lock{mutex_};
    tasks_.emplace_back([&] {
      task();
      done.set_value();
    });
  }
  wake();
  done.get_future().wait();
}

void Slave::run_tasks() {
  std::uint64_t count = 0;
  [[maybe_unused]] const auto size = ::read(wake_, &count, sizeof count);
  std::deque<std::function<void()>> tasks;
  {
    const std::lock_guard lock{mutex_};
    tasks.swap(tasks_);
  }
  for (const auto& task : tasks) {
    task();
  }
}

void Slave::close_port() {
  in_thread([this] { port_->close(); });
}
void Slave::reopen_port() {
  in_thread([this] { port_->open(); });
}

}  // namespace limegate::test
