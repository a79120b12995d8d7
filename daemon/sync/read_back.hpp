// Which confirmed deliveries are read back at the clinic, and what it means when one is missing there.
//
// A server that was put back to an older state has lost the newest of what it confirmed and holds everything
// older. So they are read from the newest down until several in a row are there; the missing ones on the way
// were lost and are sent again. Then a few are drawn from all the others: one that is missing although newer
// ones are there was deleted by somebody, and that is for people to settle.
//
// Numbers are those of receipts. A receipt that came of a look says nothing about when the clinic wrote, so
// it does not count as being there.
#pragma once

#include <cstdint>
#include <limits>

#include "daemon/core/ports.hpp"

namespace nightferry::sync {

class ReadBack {
 public:
    struct Wish {
        std::int64_t below;
        std::size_t limit;
    };

    // From the beginning, as at the start of a pass and whenever the clinic was away.
    void restart(int samples) { *this = ReadBack(Stage::walking, samples); }
    void give_up() { stage_ = Stage::over; }
    bool is_over() const { return stage_ == Stage::over; }
    bool is_walking() const { return stage_ == Stage::walking; }

    // What to recall next.
    Wish next(Random& random);
    // There was nothing to recall.
    void none_left();

    // What reading the one with this number has shown.
    void present(std::int64_t number, bool by_look);
    void missing(std::int64_t number);

    // Whether what bears this number, and is missing, was lost by the server rather than deleted by somebody.
    bool was_lost(std::int64_t number) const { return has_looked_ && number > highest_present_; }

    ReadBack() = default;

 private:
    enum class Stage { walking, sampling, over };
    ReadBack(Stage stage, int samples) : stage_(stage), samples_left_(samples) {}
    void end_walk();
    void end_sample();

    static constexpr int enough_in_a_row = 3;

    Stage stage_ = Stage::over;
    int samples_left_ = 0;
    int in_a_row_ = 0;
    std::int64_t next_below_ = std::numeric_limits<std::int64_t>::max();
    std::int64_t highest_present_ = 0;
    bool has_looked_ = false;  // highest_present_ is what the walk has shown.
};

}  // namespace nightferry::sync
