#include "tests/peers/fault_proxy/plan.hpp"

#include <algorithm>
#include <array>
#include <vector>

namespace nightferry::test {

namespace {

struct Kind {
    Fault fault;
    std::string_view name;
    bool connection = false;
};

constexpr std::array kinds{
    Kind{Fault::connection_reset, "connection-reset", true},
    Kind{Fault::handshake_cut, "handshake-cut", true},
    Kind{Fault::handshake_garbage, "handshake-garbage", true},
    Kind{Fault::handshake_no_reply, "handshake-no-reply", true},
    Kind{Fault::cut_before, "cut-before"},
    Kind{Fault::reset_before, "reset-before"},
    Kind{Fault::cut_in_request, "cut-in-request"},
    Kind{Fault::half_closed, "half-closed"},
    Kind{Fault::silence, "silence"},
    Kind{Fault::http_500, "http-500"},
    Kind{Fault::http_502, "http-502"},
    Kind{Fault::http_503, "http-503"},
    Kind{Fault::http_429, "http-429"},
    Kind{Fault::html_200, "html-200"},
    Kind{Fault::cut_after, "cut-after"},
    Kind{Fault::reset_after, "reset-after"},
    Kind{Fault::half_closed_after, "half-closed-after"},
    Kind{Fault::http_500_after, "http-500-after"},
    Kind{Fault::http_502_after, "http-502-after"},
    Kind{Fault::http_503_after, "http-503-after"},
    Kind{Fault::http_429_after, "http-429-after"},
    Kind{Fault::html_200_after, "html-200-after"},
    Kind{Fault::truncated_sized, "truncated-sized"},
    Kind{Fault::truncated_chunked, "truncated-chunked"},
    Kind{Fault::truncated_unsized, "truncated-unsized"},
    Kind{Fault::delay, "delay"},
    Kind{Fault::drip, "drip"},
    Kind{Fault::duplicate, "duplicate"},
    Kind{Fault::duplicate_later, "duplicate-later"},
    Kind{Fault::late, "late"},
    Kind{Fault::stale_answer, "stale-answer"},
};

bool is_about_connections(Fault fault) {
    return std::any_of(kinds.begin(), kinds.end(),
                       [&](const Kind& kind) { return kind.fault == fault && kind.connection; });
}

}  // namespace

std::string_view name_of(Fault fault) {
    const auto found =
        std::find_if(kinds.begin(), kinds.end(), [&](const Kind& kind) { return kind.fault == fault; });
    return found == kinds.end() ? "none" : found->name;
}

std::optional<Fault> fault_named(std::string_view name) {
    if (name == "none") return Fault::none;
    const auto found =
        std::find_if(kinds.begin(), kinds.end(), [&](const Kind& kind) { return kind.name == name; });
    if (found == kinds.end()) return std::nullopt;
    return found->fault;
}

Draw Plan::for_connection() {
    return draw(true, percent_ * 10 / 4);
}

Draw Plan::for_request() {
    return draw(false, percent_ * 10);
}

// The same numbers are drawn whatever is forced, so that a run with the same seed meets the same faults.
Draw Plan::draw(bool connection, unsigned per_thousand) {
    const bool by_chance = random_() % 1000 < per_thousand;
    const auto which = static_cast<std::size_t>(random_());
    const auto detail = static_cast<std::uint32_t>(random_());
    Fault fault = Fault::none;
    if (std::deque<Fault>& forced = forced_[connection ? 1 : 0]; !forced.empty()) {
        fault = forced.front();
        forced.pop_front();
    } else if (by_chance) {
        std::vector<Fault> possible;
        for (const Kind& kind : kinds) {
            if (kind.connection == connection && (only_.empty() || only_.contains(kind.fault)))
                possible.push_back(kind.fault);
        }
        if (!possible.empty()) fault = possible[which % possible.size()];
    }
    if (fault != Fault::none) ++counts_[fault];
    return {fault, detail};
}

void Plan::force(Fault fault, unsigned times) {
    std::deque<Fault>& forced = forced_[is_about_connections(fault) ? 1 : 0];
    forced.insert(forced.end(), times, fault);
}

void Plan::calm() {
    percent_ = 0;
    forced_[0].clear();
    forced_[1].clear();
}

}  // namespace nightferry::test
