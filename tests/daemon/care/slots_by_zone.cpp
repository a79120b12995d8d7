// Writes slots as text, for tests/peers/zones.test.mjs to hold against zone rules that come from elsewhere.
//
// Each line of standard input asks for the slots of one zone and periods that follow each other:
//
//     Europe/Dublin 01:30,13:30 946684800 954032400 1835395200
//
// From each of the instants, in seconds since 1970, to the next. The answer is a line for each slot, with its
// seconds and the minutes of its offset, and the line "end"; or "unknown" and "end" when this system has no
// such zone.
#include <cstdint>
#include <cstdlib>
#include <iostream>
#include <sstream>
#include <string>

#include "daemon/care/slots.hpp"

namespace nightferry::care {
namespace {

// Long before every period that is asked for.
constexpr LocalSecond order_begins{};

std::vector<DailyDose> doses_at(const std::string& clocks) {
    std::vector<DailyDose> doses;
    std::istringstream each(clocks);
    for (std::string clock; std::getline(each, clock, ',');) {
        const auto time = parse_clock(clock);
        if (!time) return {};
        doses.push_back({std::chrono::floor<std::chrono::minutes>(*time), {}});
    }
    return doses;
}

void write(const std::vector<Slot>& slots) {
    std::string text;
    for (const Slot& slot : slots) {
        const auto second = std::chrono::floor<std::chrono::seconds>(slot.due.at).time_since_epoch();
        text += std::to_string(second.count());
        text += ' ';
        text += std::to_string(slot.due.offset.count());
        text += '\n';
    }
    std::cout << text;
}

bool answer(const std::string& line) {
    std::istringstream request(line);
    std::string name;
    std::string clocks;
    std::int64_t from = 0;
    if (!(request >> name >> clocks >> from)) return false;
    const auto zone = Zone::find(name);
    if (!zone) {
        std::cout << "unknown\nend\n";
        return true;
    }
    const Regimen regimen{{{order_begins, *zone, "enoxaparin", doses_at(clocks)}}, {}, {}};
    for (std::int64_t to = 0; request >> to; from = to)
        write(slots_between(regimen, Instant{std::chrono::seconds{from}}, Instant{std::chrono::seconds{to}}));
    std::cout << "end\n";
    return request.eof() && !regimen.orders.front().doses.empty();
}

}  // namespace
}  // namespace nightferry::care

int main() {
    std::ios::sync_with_stdio(false);
    for (std::string line; std::getline(std::cin, line);) {
        if (nightferry::care::answer(line)) continue;
        std::cerr << "cannot be read: " << line << '\n';
        return EXIT_FAILURE;
    }
    std::cout.flush();
    return std::cout ? EXIT_SUCCESS : EXIT_FAILURE;
}
