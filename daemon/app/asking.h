#pragma once

#include <string>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>
#include <tl/expected.hpp>

#include "app/given_config.h"
#include "web/control_client.h"

namespace limegate::app {

// What the commands have in common that ask a running daemon.

/// Which daemon and station is meant, and how the answer is wanted.
struct Meant {
  std::string file, station;
  bool json = false;
};

/// To the standard output, at once; and to the error output.
void print(const std::string& text);
void complain(const std::string& text);

/// Says why nothing came of it; the ExitCode.
[[nodiscard]] int failed(const web::ControlClient::Failure& failure);
/// Error: the ExitCode, once what is wrong with it was said.
[[nodiscard]] tl::expected<GivenConfig, int> config_of(const Meant& meant);
/// The only station, where none was named. A daemon of several has to be told, and says so.
[[nodiscard]] std::string station_of(const Meant& meant, const config::Config& config);
/// Prints the answer to a command; whether it was accepted.
bool told(const Meant& meant, const nlohmann::json& answer);
/// Asks for something and prints the answer; the ExitCode.
[[nodiscard]] int send(const Meant& meant, const char* method,
                       nlohmann::json params = nlohmann::json::object());

/// A subcommand with a file, a station and --json. Its file may be left out, or not.
CLI::App* add_command(CLI::App& app, const char* name, const char* about, Meant& meant);
CLI::App* add_for_station(CLI::App& app, const char* name, const char* about, Meant& meant);

}  // namespace limegate::app
