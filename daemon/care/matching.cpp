#include "daemon/care/matching.hpp"

#include <algorithm>
#include <cassert>
#include <compare>
#include <cstdint>

namespace nightferry::care {

namespace {

using std::chrono::microseconds;

// More pairs are better; among as many, the lesser sum.
struct Score {
    std::int64_t pairs = 0;
    microseconds deviation{0};

    Score with(microseconds distance) const { return {pairs + 1, deviation + distance}; }
    bool operator==(const Score&) const = default;
    std::weak_ordering operator<=>(const Score& other) const {
        if (const auto order = pairs <=> other.pairs; order != 0) return order;
        return other.deviation <=> deviation;
    }
};

microseconds distance(Instant a, Instant b) {
    return a < b ? b - a : a - b;
}

// best(i, j) is the best score of the doses from i on with the slots from j on. Both window ends rise with i,
// so a row is kept only for the slots of its dose; before them the slots are of no use, and behind them a
// later row says the same.
class Scores {
 public:
    Scores(std::span<const Instant> slots, std::span<const Instant> given, const std::vector<Window>& windows)
        : windows_(windows), rows_(given.size() + 1) {
        for (std::size_t i = given.size(); i-- > 0;)
            fill(i, slots, given[i]);
    }

    Score best(std::size_t i, std::size_t j) const {
        for (; i < windows_.size(); ++i) {
            const Window& window = windows_[i];
            if (j <= window.last) return rows_[i][std::max(j, window.first) - window.first];
        }
        return {};
    }

 private:
    void fill(std::size_t i, std::span<const Instant> slots, Instant at) {
        const Window& window = windows_[i];
        std::vector<Score>& row = rows_[i];
        row.resize(window.last - window.first + 1);
        row.back() = best(i + 1, window.last);
        for (std::size_t j = window.last; j-- > window.first;) {
            const Score paired = best(i + 1, j + 1).with(distance(at, slots[j]));
            row[j - window.first] = std::max({paired, row[j - window.first + 1], best(i + 1, j)});
        }
    }

    const std::vector<Window>& windows_;
    std::vector<std::vector<Score>> rows_;
};

}  // namespace

std::vector<Window> windows_of(std::span<const Instant> slots, std::span<const Instant> given,
                               const MatchLimits& limits) {
    std::vector<Window> windows;
    windows.reserve(given.size());
    Window window;
    for (const Instant at : given) {
        while (window.first < slots.size() && slots[window.first] < at - limits.late_max)
            ++window.first;
        window.last = std::max(window.last, window.first);
        while (window.last < slots.size() && slots[window.last] <= at + limits.early_max)
            ++window.last;
        windows.push_back(window);
    }
    return windows;
}

std::vector<std::optional<std::size_t>> match(std::span<const Instant> slots, std::span<const Instant> given,
                                              const MatchLimits& limits) {
    assert(std::ranges::is_sorted(slots) && std::ranges::is_sorted(given));
    const std::vector<Window> windows = windows_of(slots, given, limits);
    const Scores scores(slots, given, windows);
    std::vector<std::optional<std::size_t>> matches(given.size());
    std::size_t next = 0;
    for (std::size_t i = 0; i < given.size(); ++i) {
        const Score wanted = scores.best(i, next);
        for (std::size_t j = std::max(next, windows[i].first); j < windows[i].last; ++j) {
            if (scores.best(i + 1, j + 1).with(distance(given[i], slots[j])) != wanted) continue;
            matches[i] = j;
            next = j + 1;
            break;
        }
    }
    return matches;
}

Timing timing_of(microseconds deviation, const TimingLimits& limits) {
    const microseconds size = deviation < microseconds{0} ? -deviation : deviation;
    if (size <= limits.on_time) return Timing::on_time;
    if (deviation < microseconds{0}) return Timing::early;
    return deviation <= limits.late ? Timing::late : Timing::very_late;
}

}  // namespace nightferry::care
