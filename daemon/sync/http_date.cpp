#include "daemon/sync/http_date.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>
#include <string>
#include <vector>

namespace nightferry::sync {

namespace {

using namespace std::chrono;

std::vector<std::string_view> parts_of(std::string_view text) {
    std::vector<std::string_view> parts;
    while (!text.empty()) {
        const auto length = std::min(text.find_first_of(" ,-"), text.size());
        if (length > 0) parts.push_back(text.substr(0, length));
        text.remove_prefix(std::min(length + 1, text.size()));
    }
    return parts;
}

// Nothing unless it is all digits.
std::optional<int> number_in(std::string_view text) {
    int number = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), number);
    const bool is_whole = failure == std::errc() && end == text.data() + text.size() && number >= 0;
    return is_whole ? std::optional(number) : std::nullopt;
}

std::optional<unsigned> month_in(std::string_view text) {
    constexpr std::array<std::string_view, 12> months{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                      "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    const auto found = std::find(months.begin(), months.end(), text);
    if (found == months.end()) return std::nullopt;
    return static_cast<unsigned>(found - months.begin()) + 1;
}

int year_from(int number, std::string_view text, Instant now) {
    if (text.size() != 2) return number;
    const int this_year = static_cast<int>(year_month_day{floor<days>(now)}.year());
    const int latest = this_year + 50;
    return latest - (latest - number) % 100;
}

}  // namespace

std::optional<Instant> read_http_date(std::string_view text, Instant now) {
    const std::vector<std::string_view> parts = parts_of(text);
    const bool usual = parts.size() == 6 && parts[5] == "GMT" && text.ends_with(" GMT");
    if (!usual && parts.size() != 5) return std::nullopt;
    const std::string_view day_text = usual ? parts[1] : parts[2];
    const std::string_view year_text = usual ? parts[3] : parts[4];
    const auto month_number = month_in(usual ? parts[2] : parts[1]);
    const auto day_number = number_in(day_text);
    const auto year_number = number_in(year_text);
    const std::string_view clock = usual ? parts[4] : parts[3];
    if (!month_number || !day_number || day_text.size() > 2 || !year_number ||
        (year_text.size() != 4 && year_text.size() != 2))
        return std::nullopt;
    const year_month_day date{year{year_from(*year_number, year_text, now)}, month{*month_number},
                              day{static_cast<unsigned>(*day_number)}};
    const auto time = parse_time("2000-01-01T" + std::string(clock) + "Z");
    if (!date.ok() || !time || clock.size() != 8) return std::nullopt;
    const auto of_day = time->local - floor<days>(time->local);
    return Instant{sys_days{date}} + duration_cast<microseconds>(of_day);
}

}  // namespace nightferry::sync
