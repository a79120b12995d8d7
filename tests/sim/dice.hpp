// Chance from a seed: equal seeds, equal throws, on every machine.
#pragma once

#include "daemon/core/ports.hpp"

namespace nightferry::sim {

class Dice final : public Random {
 public:
    explicit Dice(std::uint64_t seed) : state_(seed) {}

    // The bias of the remainder is below 2^-32 for the small bounds in use here.
    std::uint64_t below(std::uint64_t bound) override { return bound == 0 ? 0 : next() % bound; }

    // Whether something comes about that does so as often as this in a thousand.
    bool happens(int per_thousand) { return static_cast<int>(below(1000)) < per_thousand; }

    // SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014).
    std::uint64_t next() {
        std::uint64_t z = state_ += 0x9E3779B97F4A7C15;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
        return z ^ (z >> 31);
    }

 private:
    std::uint64_t state_;
};

}  // namespace nightferry::sim
