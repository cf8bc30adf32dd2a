#include "app/rehearsal_report.h"

#include <chrono>
#include <fstream>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/rehearsal_words.h"
#include "app/report_parts.h"

namespace limegate::app {
namespace {

using nlohmann::json;

/// Text that a page shows as it is.
std::string shown(const std::string& text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

/// JSON inside a page: nothing in it can end its element.
std::string inside_page(const json& data) {
  std::string out;
  for (const char c : data.dump(-1, ' ', true, json::error_handler_t::replace)) {
    out += c == '<' ? std::string{"\\u003c"} : std::string{c};
  }
  return out;
}

double hours(Duration duration) {
  return std::chrono::duration<double, std::ratio<3600>>(duration).count();
}

json number(const std::optional<double>& value) { return value ? json(*value) : json(nullptr); }

json data_of(const config::Station& station, const rehearsal::Rehearsal::Plan& plan,
             const rehearsal::Outcome& outcome) {
  const rehearsal::Trace& trace = outcome.trace;
  const double step_h = hours(trace.step());
  json points = json::array();
  json held = json::array();
  double given = 0;
  for (std::size_t i = 0; i < trace.points().size(); ++i) {
    const auto& point = trace.points()[i];
    given += point.delivered_ml;
    points.push_back({static_cast<double>(i) * step_h, point.ph_low, point.ph_high,
                      number(point.shown_low), number(point.shown_high),
                      point.delivered_ml / step_h, given, point.powder_g});
  }
  const auto strip = [&](const std::string& name, auto seconds_of) {
    json shares = json::array();
    for (const auto& point : trace.points()) {
      shares.push_back(
          std::min(1.0, seconds_of(point) / static_cast<double>(trace.step().count())));
    }
    held.push_back({{"name", name}, {"shares", std::move(shares)}});
  };
  strip("stirrer runs", [](const auto& point) { return static_cast<double>(point.stirred_s); });
  for (std::size_t code = 0; code < trace.codes().size(); ++code) {
    strip("held: " + trace.codes()[code],
          [code](const auto& point) { return static_cast<double>(point.held_s[code]); });
  }
  json faults = json::array();
  for (const rehearsal::Fault& fault : plan.faults) {
    faults.push_back({{"name", rehearsal::about(fault.kind).name},
                      {"from", hours(fault.at)},
                      {"to", hours(fault.at + fault.lasting)}});
  }
  return {{"hours", hours(outcome.lasted)},
          {"step_h", step_h},
          {"ceiling", station.settings.limits.ceiling.count()},
          {"day_volume_ml", station.settings.plan.day_volume.count()},
          {"points", std::move(points)},
          {"strips", std::move(held)},
          {"faults", std::move(faults)}};
}

}  // namespace

void ReportPage::add(const config::Station& station, const rehearsal::Rehearsal::Plan& plan,
                     const rehearsal::Outcome& outcome) {
  std::string faults;
  for (const rehearsal::Fault& fault : plan.faults) {
    faults += fmt::format("<li><code>{}</code> {}</li>", shown(rehearsal::to_text(fault)),
                          shown(rehearsal::about(fault.kind).about));
  }
  sections_ += fmt::format(
      "<section><h2>{}</h2><pre class=\"words\">{}</pre>{}<div class=\"charts\"></div>"
      "<script type=\"application/json\">{}</script></section>\n",
      shown(station.settings.name), shown(words_of(outcome, station)),
      faults.empty() ? "" : "<h3>What went wrong on purpose</h3><ul>" + faults + "</ul>",
      inside_page(data_of(station, plan, outcome)));
}

std::string ReportPage::html() const {
  std::string out = fmt::format(
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
      "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">"
      "<title>Rehearsal of {}</title>\n<style>",
      shown(config_));
  out += report_charts_css();
  out += report_css();
  out += fmt::format(
      "</style></head><body><h1>Rehearsal of {}</h1><p class=\"caution\">A rehearsal is "
      "arithmetic, "
      "not your tank: test the water by hand. Calcium hydroxide is strongly caustic: eye "
      "protection, gloves, no dust, out of reach of children; rinse eyes with water and seek "
      "medical help. Water and mains power together want residual-current protection, drip loops "
      "and, where local codes ask for one, a licensed electrician.</p>\n",
      shown(config_));
  out += sections_ + "<script>";
  for (const std::string_view piece : report_charts_js()) {
    out += piece;
  }
  out += "</script>\n<script>";
  out += report_js();
  return out + "</script></body></html>\n";
}

tl::expected<void, std::string> ReportPage::can_write(const std::string& path) {
  std::ofstream file{path, std::ios::binary | std::ios::app};
  return file ? tl::expected<void, std::string>{} : tl::unexpected(not_written(path));
}

tl::expected<void, std::string> ReportPage::write(const std::string& path) const {
  std::ofstream file{path, std::ios::binary};
  file << html();
  file.close();
  return file ? tl::expected<void, std::string>{} : tl::unexpected(not_written(path));
}

}  // namespace limegate::app
