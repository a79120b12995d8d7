// Which deliveries are read back at the clinic, and what it means when one is missing there.
//
// A server that was put back to an older state has lost the newest of what it wrote and holds everything
// older. So they are read from the newest down until what is there proves the rest: something that was
// written when the clinic had given so many receipts already shows that whatever those were for is there,
// too. The missing ones on the way were lost and are sent again. Then a few are drawn from all the others:
// one that is missing although later ones are there was deleted by somebody, and that is for people to
// settle.
//
// Numbers count receipts, see logbook::Receipt.
#pragma once

#include <cstdint>
#include <limits>
#include <map>

#include "daemon/core/ports.hpp"

namespace nightferry::sync {

class ReadBack {
 public:
    struct Wish {
        std::int64_t below;
        std::size_t limit;
    };

    // From the beginning, as at the start of a pass and whenever the clinic was away or not heard for long.
    void restart(int samples);
    bool is_over() const { return stage_ == Stage::over; }
    bool is_walking() const { return stage_ == Stage::walking; }
    // Readings that were answered since the beginning.
    int steps() const { return steps_; }

    // What to recall next.
    Wish next(Random& random);
    // There was nothing to recall.
    void none_left();

    // What reading the one with this number has shown.
    void present(std::int64_t number, std::int64_t written_after);
    void missing(std::int64_t number);
    // Reading this one was not answered so that it says anything. True when that came so often that it is not
    // read any more; where nothing was ever answered, or several in a row are not, nothing else is either. A
    // bad line takes longest to tell from a clinic that does not answer this.
    enum class InVain { lost = 1, failed = 4, forbidden = 8 };  // By their weight.
    bool note_no_answer(std::int64_t number, InVain how = InVain::failed);

    // Whether what bears this number, and is missing, was lost by the server rather than deleted by somebody.
    bool was_lost(std::int64_t number) const { return has_walked_ && number > proven_; }

 private:
    enum class Stage { walking, sampling, over };
    void end_walk();
    void end_sample();

    static constexpr int enough_in_a_row = 3;  // A request that came late may have put one there alone.
    static constexpr int in_vain_max = 20;

    Stage stage_ = Stage::over;
    bool has_answered_ = false;  // Once, so this clinic can be asked.
    std::map<std::int64_t, int>
        in_vain_;  // Weights by number, since the start; without those that were answered.
    int samples_left_ = 0;
    int steps_ = 0;
    int in_a_row_ = 0;
    int passed_over_ = 0;  // In a row.
    std::int64_t next_below_ = std::numeric_limits<std::int64_t>::max();
    std::int64_t newest_ = 0;
    std::int64_t proven_ = 0;  // Up to this number everything was there when the newest one seen was written.
    bool has_walked_ = false;
};

}  // namespace nightferry::sync
