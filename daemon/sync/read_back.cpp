#include "daemon/sync/read_back.hpp"

#include <algorithm>

namespace nightferry::sync {

void ReadBack::restart(int samples) {
    ReadBack fresh;
    fresh.has_answered_ = has_answered_;
    fresh.in_vain_ = std::move(in_vain_);
    *this = std::move(fresh);
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

bool ReadBack::note_no_answer(std::int64_t number, InVain how) {
    int& weight = in_vain_[number];
    weight += static_cast<int>(how);
    if (weight < in_vain_max) return false;
    if (!has_answered_ || ++passed_over_ >= enough_in_a_row) {
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
    ++steps_;
    in_vain_.erase(number);
    passed_over_ = 0;
    if (stage_ == Stage::sampling) return end_sample();
    newest_ = std::max(newest_, number);
    next_below_ = std::min(next_below_, number);
    proven_ = std::max(proven_, written_after);
    if (++in_a_row_ >= enough_in_a_row && number - 1 <= proven_) end_walk();
}

void ReadBack::missing(std::int64_t number) {
    has_answered_ = true;
    ++steps_;
    in_vain_.erase(number);
    passed_over_ = 0;
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
