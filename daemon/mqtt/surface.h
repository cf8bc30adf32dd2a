#pragma once

#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "alerts/command.h"
#include "mqtt/announcer.h"
#include "mqtt/inbox.h"
#include "mqtt/input_mail.h"
#include "mqtt/link.h"
#include "mqtt/mirror.h"
#include "mqtt/outage.h"
#include "mqtt/presence.h"
#include "mqtt/settings.h"
#include "mqtt/tree_mail.h"
#include "station/records.h"
#include "station/status.h"

namespace limegate::mqtt {

/// The daemon on MQTT: a Homie 5 device for the daemon, a child device for each station, and the
/// few commands that may come from afar. The broker may be absent, slow or hostile: nothing here
/// waits, and nothing is queued beyond a bound.
/// Threads: the loop.
class Surface {
 public:
  struct Parts {
    /// Into the loop; callable from any thread until `stop` has returned.
    std::function<void(std::function<void()>)> post;
    /// Carries a command out. Station "" = the daemon itself. The one who answers also tells of it.
    std::function<station::Answer(const std::string& station, const alerts::Asked&)> command;
    /// What MQTT has to tell of itself; station "" = the daemon itself.
    std::function<void(const std::string& station, const station::Event&)> raise;
    /// Inputs of the owner's rules that come by MQTT, and who takes what came, by their index. What
    /// makes no sense is not a number.
    std::vector<InputTopic> inputs = {};
    std::function<void(std::size_t input, double value)> take_input = {};
  };
  Surface(Settings settings, Parts parts);

  /// After each tick: publishes what has changed. The stations are always the same ones.
  void show(const station::Overview& overview);
  /// How the connection is, for other surfaces.
  [[nodiscard]] const station::MqttState& state() const { return state_; }
  /// Of what happened, for `$log`. A few are kept for a moment; while nobody is connected, none.
  void tell(const std::string& station, const station::Event& event);
  /// A message to people, as a CloudEvent in JSON. The newest wait for a broker that is away.
  void give_out(const std::string& event);
  /// Says goodbye; two seconds at most. Nothing is posted or published afterwards, whatever is
  /// still shown.
  void stop();

 private:
  enum class Phase { away, connecting, subscribing, filling, ready, stopped };
  struct Station {
    std::string name;                                ///< empty: the root
    std::optional<Millilitres> day_volume_max = {};  ///< that the description says
    std::string urgent = {};
    bool answer_due = false;  ///< something was set: show it again, changed or not
  };

  struct Repeat {
    std::size_t device;
    SetTopic topic;
  };

  void begin(const station::Overview& overview);
  void update(const station::Overview& overview);
  void show_station(std::size_t device, const station::Status& status);
  [[nodiscard]] bool begun() const;
  void open_link();
  void connect_where_due();
  void connect();
  void go_on(Phase phase);
  void pump();
  void subscribe();
  [[nodiscard]] bool settled() const;
  void lost(const Failure& failure);
  void take_mail();
  void take_inputs();
  void take_tree();
  void obey(const Inbox::Command& command);
  void complain(const char* code, const std::string& sentence);
  void raise_all(const Outage::Events& events);
  [[nodiscard]] Moment now() const;

  const Settings settings_;
  const Parts parts_;
  Mirror mirror_;                          ///< the stations in their order, then the root
  std::shared_ptr<Inbox> inbox_;           ///< also in the hands of paho's thread
  std::shared_ptr<InputMail> input_mail_;  ///< the same
  std::shared_ptr<TreeMail> tree_mail_;    ///< the same
  std::optional<Announcer> announcer_;     ///< where a discovery prefix is set
  std::vector<Station> stations_;
  std::vector<Presence> presences_;  ///< of the stations
  Station root_;
  std::vector<Repeat> repeats_;  ///< bounded by what the inbox admits
  std::deque<Message> log_;
  std::deque<std::string> for_people_;
  Outage outage_;
  WallTime wall_{};
  Phase phase_ = Phase::away;
  Instant next_attempt_{};
  Instant stuck_at_{};  ///< unless a connection that is being made gets a step further by then
  station::MqttState state_;
  Instant next_full_{};
  Instant begun_by_{};  ///< when the first is ready, whatever is still missing
  bool begun_ = false;  ///< every probe and input has said something
  Instant subscribed_at_{};
  std::vector<std::string> orphans_;  ///< to be asked for
  bool tree_missed_ = false;          ///< more stood on our tree than was looked at
  Instant next_firm_{};
  std::deque<std::string> left_over_;  ///< topics to be cleared; bounded by what the mail admits
  std::unique_ptr<Link> link_;         ///< last: it goes first
};

}  // namespace limegate::mqtt
