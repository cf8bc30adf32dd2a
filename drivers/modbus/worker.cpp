#include "modbus/worker.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include <arpa/inet.h>
#include <pthread.h>
#include <spdlog/spdlog.h>

#include "modbus/bus_log.h"

namespace limegate::modbus {
namespace {

using ports::BusFault;
using ports::OutletFault;
using ports::OutletState;
using ports::Sent;
using std::chrono::steady_clock;

bool is_address(const std::string& host) {
  in6_addr ignored{};
  return ::inet_pton(AF_INET, host.c_str(), &ignored) == 1 ||
         ::inet_pton(AF_INET6, host.c_str(), &ignored) == 1;
}

constexpr int kOffTries = 3;
constexpr Duration kOffRetryFirst = std::chrono::milliseconds{250};
constexpr Duration kOffRetryMax = std::chrono::seconds{1};

bool is_confirmed_off(const Switched& outcome) {
  return outcome.has_value() && *outcome == OutletState::off;
}

/// How long one request may take at most: a bad line costs several reply timeouts (see Line), and a
/// host's name may have to be looked up.
Duration longest_request(const BusSettings& settings) {
  constexpr Duration shortest = std::chrono::seconds{5};
  constexpr Duration lookup = std::chrono::seconds{30};
  const Duration longest = std::max<Duration>(shortest, 8 * settings.reply_timeout);
  const auto* tcp = std::get_if<TcpPort>(&settings.port);
  return tcp != nullptr && !is_address(tcp->host) ? longest + lookup : longest;
}

/// Whether the unit's port was opened again, or the unit was heard, since a try failed.
bool is_back(const Channel& channel) {
  return channel.failed && (channel.relay.contact() != channel.failed->contact ||
                            (channel.failed->silent && !channel.relay.is_silent()));
}

}  // namespace

Channel::Channel(const OutletSettings& settings, Devices& devices, const ports::Clock& clock)
    : relay(settings, devices, clock), off_retries(kOffRetryFirst, kOffRetryMax) {}

Bus::Worker::Worker(const BusSettings& settings, std::vector<ProbeSettings> probes,
                    const ports::Clock& clock, Post post)
    : name_(settings.name),
      clock_(clock),
      post_(std::move(post)),
      longest_(longest_request(settings)),
      line_(settings),
      devices_(settings, line_),
      probes_(std::move(probes), devices_, clock),
      thread_([this] { work(); }) {}

Bus::Worker::~Worker() {
  alive_.reset();
  lanes_.close();
  thread_.join();
}

/// Posts the reply with its result. The loop thread alone looks at `alive_`, and only there can it
/// end, so a reply is either delivered before the destructor or not at all.
template <class Reply, class Result>
void Bus::Worker::deliver(const Reply& reply, Result result) {
  post_([watch = watch_, reply, result = std::move(result)]() mutable {
    if (!watch.expired()) {
      reply(std::move(result));
    }
  });
}

void Bus::Worker::poll(const std::vector<std::size_t>& probes, const PollReply& reply) {
  const auto refuse = [&] {
    std::vector<ports::Sample> samples;
    samples.reserve(probes.size());
    for (const std::size_t probe : probes) {
      samples.push_back({probe, tl::unexpected{BusFault::backing_off}, clock_.now().mono});
    }
    deliver(reply, ports::Answers{std::move(samples)});
  };
  if (poll_outstanding_) {
    return refuse();
  }
  const auto done = [this, reply](ports::Answers rest) {
    poll_outstanding_ = false;
    --unanswered_;
    reply(std::move(rest));
  };
  poll_outstanding_ = lanes_.add(Lanes::Lane::ordinary, [this, probes, reply, done] {
    auto rest = probes_.read(probes, {[this] {
                                        serve_urgent();
                                        return !lanes_.is_closed();
                                      },
                                      [this, reply](std::vector<ports::Sample> samples) {
                                        deliver(reply, ports::Answers{std::move(samples), false});
                                      }});
    deliver(done, ports::Answers{std::move(rest)});
  });
  if (poll_outstanding_) {
    expect_an_answer();
  } else {
    refuse();
  }
}

Bus::Worker::ChannelPtr Bus::Worker::channel(const OutletSettings& settings) {
  return std::make_shared<Channel>(settings, devices_, clock_);
}

void Bus::Worker::run_for(const ChannelPtr& channel, Duration duration, Instant send_before,
                          const ports::Outlet::Reply& to_caller) {
  const auto reply = expect(to_caller);
  const std::uint64_t offs_before = channel->offs_asked;
  auto job = [=, this] {
    const Relay::Run run{duration,
                         send_before,
                         [&] { return channel->offs_asked != offs_before || lanes_.is_closed(); },
                         [this] { serve_urgent(); },
                         [this](Duration wait) { pause(wait); },
                         [&] { arm(channel); }};
    deliver(reply, channel->relay.run_for(run));
  };
  queue(Lanes::Lane::ordinary, std::move(job), reply);
}

void Bus::Worker::off(const ChannelPtr& channel, const ports::Outlet::Reply& to_caller) {
  const auto reply = expect(to_caller);
  ++channel->offs_asked;
  queue(
      Lanes::Lane::urgent, [=, this] { perform_off(channel, kOffTries, reply); }, reply);
}

void Bus::Worker::read_back(const ChannelPtr& channel, const ports::Outlet::Reply& to_caller) {
  const auto reply = expect(to_caller);
  auto job = [=, this] { deliver(reply, channel->relay.read_back(Insistence::patient)); };
  queue(Lanes::Lane::ordinary, std::move(job), reply);
}

void Bus::Worker::expect_an_answer() {
  if (unanswered_++ == 0) {
    waiting_since_ = steady_clock::now();
  }
}

ports::Outlet::Reply Bus::Worker::expect(const ports::Outlet::Reply& reply) {
  expect_an_answer();
  return [this, reply](const ports::OutletAnswer& answer) {
    --unanswered_;
    reply(answer);
  };
}

bool Bus::Worker::hangs() const {
  return unanswered_ > 0 &&
         steady_clock::now() > std::max(waiting_since_, line_.begun_at()) + longest_;
}

void Bus::Worker::queue(Lanes::Lane lane, Lanes::Job job, const ports::Outlet::Reply& reply) {
  if (lanes_.add(lane, std::move(job))) {
    return;
  }
  deliver(reply, Switched{tl::unexpected{OutletFault{Sent::no, BusFault::timed_out}}});
}

void Bus::Worker::work() {
  // For `ps -L` and a debugger; the kernel keeps 15 letters.
  ::pthread_setname_np(::pthread_self(), ("bus " + name_).substr(0, 15).c_str());
  while (!lanes_.is_closed()) {
    end_overdue();
    if (const auto job = lanes_.take(next_deadline())) {
      (*job)();
    }
  }
  serve_urgent();
  for (const auto& channel : armed_) {
    try_end(*channel);
  }
}

void Bus::Worker::serve_urgent() {
  end_overdue();
  while (const auto job = lanes_.take_urgent()) {
    (*job)();
  }
}

/// One try, then back into the urgent lane, so that a board that does not answer keeps no other
/// outlet on.
void Bus::Worker::perform_off(const ChannelPtr& channel, int tries_left,
                              const ports::Outlet::Reply& reply) {
  const auto outcome = channel->relay.off();
  if (!is_confirmed_off(outcome) && tries_left > 1) {
    auto again = [=, this] { perform_off(channel, tries_left - 1, reply); };
    if (lanes_.add(Lanes::Lane::urgent, std::move(again))) {
      return;
    }
  }
  deliver(reply, outcome);
  if (!outcome) {
    owe(channel);
  }
  // A contact seen for the first time since the port opened: give the board back its own guard.
  if (is_confirmed_off(outcome)) {
    const auto set = channel->relay.ensure_loss_timer([] {});
    if (!set) {
      bus_log()->warn("bus={} communication-loss timer of an outlet is not set", name_);
    }
  }
}

/// Waits in full, with an ear for what is urgent.
void Bus::Worker::pause(Duration wait) {
  const Instant end = steady_clock::now() + wait;
  for (Instant now = steady_clock::now(); now < end && !lanes_.is_closed();
       now = steady_clock::now()) {
    lanes_.pause(end - now);
    serve_urgent();
  }
}

void Bus::Worker::arm(const ChannelPtr& channel) {
  if (std::find(armed_.begin(), armed_.end(), channel) == armed_.end()) {
    armed_.push_back(channel);
  }
  channel->off_retries.succeeded();
  channel->failed.reset();
}

/// An off that did not reach its board stays due: it goes before everything else once the board is
/// back.
void Bus::Worker::owe(const ChannelPtr& channel) {
  if (std::find(armed_.begin(), armed_.end(), channel) == armed_.end()) {
    armed_.push_back(channel);
  }
  note_failure(*channel);
}

void Bus::Worker::note_failure(Channel& channel) {
  channel.off_retries.failed(steady_clock::now());
  channel.relay.postpone(channel.off_retries.next_try());
  channel.failed = {channel.relay.contact(), channel.relay.is_silent()};
}

void Bus::Worker::end_overdue() {
  for (const auto& channel : armed_) {
    const auto deadline = channel->relay.deadline();
    if (deadline && (*deadline <= steady_clock::now() || is_back(*channel))) {
      try_end(*channel);
    }
  }
  std::erase_if(armed_, [](const auto& channel) { return !channel->relay.deadline(); });
}

void Bus::Worker::try_end(Channel& channel) {
  if (!channel.relay.deadline()) {
    return;
  }
  const auto outcome = channel.relay.off();
  if (is_confirmed_off(outcome)) {
    channel.off_retries.succeeded();
    channel.failed.reset();
    return;
  }
  if (!channel.off_retries.failing()) {
    bus_log()->error("bus={} an outlet is due off and not confirmed off", name_);
  }
  note_failure(channel);
}

std::optional<Instant> Bus::Worker::next_deadline() const {
  std::optional<Instant> next;
  for (const auto& channel : armed_) {
    const auto deadline = channel->relay.deadline();
    if (deadline && (!next || *deadline < *next)) {
      next = deadline;
    }
  }
  return next;
}

}  // namespace limegate::modbus
