#include "daemon/report/home_clock.hpp"

#include "daemon/report/table.hpp"

namespace nightferry::report {

HomeClock::HomeClock(const fhir::json::Value& answer) {
    if (const auto zone = Zone::find(text_at(answer, "zone"))) zone_ = *zone;
}

std::optional<LocalSecond> HomeClock::local(const std::string& written) const {
    const auto moment = parse_moment(written);
    if (!moment) return std::nullopt;
    const Moment there = zone_ ? zone_->at(moment->at) : *moment;
    return LocalSecond{std::chrono::floor<std::chrono::seconds>(there.at.time_since_epoch() + there.offset)};
}

std::string HomeClock::text(const std::string& written) const {
    const auto moment = parse_moment(written);
    if (!moment) return written;
    const std::string text = to_text(zone_ ? zone_->at(moment->at) : *moment);
    return text.substr(0, 10) + " " + text.substr(11, 5);
}

std::string span_size_text(const std::string& minutes_text) {
    if (minutes_text.empty()) return "none";
    const long signed_minutes = std::stol(minutes_text);
    const long minutes = signed_minutes < 0 ? -signed_minutes : signed_minutes;
    if (minutes < 60) return std::to_string(minutes) + " min";
    return std::to_string(minutes / 60) + " h " + std::to_string(minutes % 60) + " min";
}

}  // namespace nightferry::report
