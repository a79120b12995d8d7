#include "daemon/sync/read_back.hpp"

#include <algorithm>

namespace nightferry::sync {

void ReadBack::restart(int samples) {
    const ReadBack before = *this;
    *this = ReadBack();
    has_answered_ = before.has_answered_;
    no_answers_ = before.no_answers_;
    unanswered_ = before.unanswered_;
    samples_left_ = samples;
    stage_ = Stage::walking;
}

ReadBack::Wish ReadBack::next(Random& random) {
    if (stage_ == Stage::walking) return {next_below_, enough_in_a_row};
    const auto drawn = random.below(static_cast<std::uint64_t>(newest_));
    return {static_cast<std::int64_t>(drawn) + 1, 1};
}

void ReadBack::none_left() {
    if (stage_ == Stage::walking) {
        end_walk();
    } else {
        end_sample();
    }
}

bool ReadBack::note_no_answer(std::int64_t number, bool is_refusal) {
    no_answers_ = (number == unanswered_ ? no_answers_ : 0) + (is_refusal ? 2 : 1);
    unanswered_ = number;
    if (no_answers_ < no_answers_max) return false;
    if (!has_answered_) {
        stage_ = Stage::over;
    } else if (stage_ == Stage::walking) {
        next_below_ = std::min(next_below_, number);
    } else {
        end_sample();
    }
    return true;
}

void ReadBack::present(std::int64_t number, std::int64_t written_after) {
    has_answered_ = true;
    if (stage_ == Stage::sampling) return end_sample();
    newest_ = std::max(newest_, number);
    next_below_ = std::min(next_below_, number);
    proven_ = std::max(proven_, written_after);
    if (++in_a_row_ >= enough_in_a_row && number - 1 <= proven_) end_walk();
}

void ReadBack::missing(std::int64_t number) {
    has_answered_ = true;
    if (stage_ == Stage::sampling) return end_sample();
    newest_ = std::max(newest_, number);
    next_below_ = std::min(next_below_, number);
    in_a_row_ = 0;
}

void ReadBack::end_walk() {
    has_walked_ = true;
    stage_ = samples_left_ > 0 && newest_ > 0 ? Stage::sampling : Stage::over;
}

void ReadBack::end_sample() {
    if (--samples_left_ <= 0) stage_ = Stage::over;
}

}  // namespace nightferry::sync
