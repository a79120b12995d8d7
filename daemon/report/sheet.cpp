#include "daemon/report/sheet.hpp"

#include <array>
#include <charconv>

#include "daemon/report/table.hpp"
#include "daemon/texts/care_words.hpp"

namespace nightferry::report {

namespace json = fhir::json;

std::string Sheet::word(const json::Value& object, std::string_view name) const {
    return texts::say_word(speaker, text_at(object, name));
}

std::string Sheet::number(const json::Value& object, std::string_view name) const {
    return speaker.number(text_at(object, name));
}

std::optional<LocalSecond> Sheet::local(const json::Value& object, std::string_view name) const {
    return home_.local(text_at(object, name));
}

std::string Sheet::day(const json::Value& object, std::string_view name) const {
    const auto at = local(object, name);
    if (!at) return text_at(object, name);
    const auto date = std::chrono::floor<std::chrono::days>(*at);
    return speaker.weekday(std::chrono::weekday{date}) + " " +
           speaker.date(std::chrono::year_month_day{date});
}

std::string Sheet::date(const json::Value& object, std::string_view name) const {
    const std::string written = text_at(object, name);
    const auto date = parse_date(written, DateForm::year_month_day);
    return date ? speaker.date(*date) : written;
}

std::string Sheet::when(const json::Value& object, std::string_view name) const {
    const auto at = local(object, name);
    if (!at) return text_at(object, name);
    const auto date = std::chrono::floor<std::chrono::days>(*at);
    const auto minutes = std::chrono::floor<std::chrono::minutes>(*at - date);
    const std::chrono::year_month_day written{date};
    const auto period = local(review, "from");
    const bool is_of_its_year =
        period &&
        std::chrono::year_month_day{std::chrono::floor<std::chrono::days>(*period)}.year() == written.year();
    return speaker.weekday(std::chrono::weekday{date}) + " " +
           (is_of_its_year ? speaker.day_and_month(written) : speaker.date(written)) + ", " +
           speaker.time_of_day(minutes);
}

std::string Sheet::span(const json::Value& object, std::string_view name) const {
    const std::string written = text_at(object, name);
    if (written.empty()) return {};
    const long minutes = std::abs(number_at(object, name));
    const std::string rest = std::to_string(minutes % 60) + " min";
    if (minutes < 60) return rest;
    if (minutes < 48 * 60) return std::to_string(minutes / 60) + " h " + rest;
    return std::to_string(minutes / 1440) + " d " + std::to_string(minutes / 60 % 24) + " h " + rest;
}

std::string Sheet::percent(const json::Value& share) const {
    const std::string written = number(share, "percent");
    return written.empty() ? say(T::not_calculable) : written + "\u00A0%";
}

std::string Sheet::zone(const json::Value& object) const {
    if (object.find("region") == nullptr) return {};
    return say(T::zone, {word(object, "side"), word(object, "region")});
}

std::string Sheet::site(const json::Value& object) const {
    const std::string x = number(object, "x_cm");
    if (x.empty()) return zone(object);
    const bool comma = speaker.number(".") == ",";
    return zone(object) + " (" + x + (comma ? "; " : ", ") + number(object, "y_cm") + ")";
}

void Sheet::table_head(std::string_view caption, std::initializer_list<std::string_view> columns) {
    html.put("caption", caption);
    const auto head = html.in("thead");
    const auto row = html.in("tr");
    for (const std::string_view column : columns)
        html.put("th", {{"scope", "col"}}, column);
}

void Sheet::row(std::initializer_list<std::string_view> cells) {
    const auto row = html.in("tr");
    bool is_first = true;
    for (const std::string_view cell : cells) {
        if (is_first) {
            html.put("th", {{"scope", "row"}}, cell);
        } else {
            html.put("td", cell);
        }
        is_first = false;
    }
}

double measure_at(const json::Value& object, std::string_view name) {
    const std::string written = text_at(object, name);
    double value = 0;
    std::from_chars(written.data(), written.data() + written.size(), value);
    return value;
}

std::string px(double length) {
    std::array<char, 64> digits{};
    const auto end =
        std::to_chars(digits.data(), digits.data() + digits.size(), length, std::chars_format::fixed, 1);
    std::string text(digits.data(), end.ptr);
    return text.ends_with(".0") ? text.substr(0, text.size() - 2) : text;
}

Scrolls::Scrolls(Sheet& sheet, T name)
    : scrolls_(sheet.html.in(
          "div",
          {{"class", "scrolls"}, {"tabindex", "0"}, {"role", "group"}, {"aria-label", sheet.say(name)}})) {}

Section::Section(Sheet& sheet, Html::Name id, T heading)
    : section_(sheet.html.in("section", {{"aria-labelledby", std::string(id.text())}})) {
    sheet.html.put("h2", {{"id", std::string(id.text())}}, sheet.say(heading));
}

}  // namespace nightferry::report
