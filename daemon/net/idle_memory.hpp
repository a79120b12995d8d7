// Memory that only work needs, for a daemon that rests most of the day: the pages of code and constants of
// this process and its libraries, which are read from their files again when they are used, and what is free
// of the heap. Giving them back takes some hundred microseconds; the next work takes about one page fault for
// each 64 KiB of code that it uses.
#pragma once

#include <chrono>

namespace nightferry::net {

class IdleMemory {
 public:
    // To be called now and then. Gives back what was used since the last time, as soon as next to no
    // processor time went by between two calls.
    void look();

 private:
    // Of this process: until the last look, and until the last time that memory was given back.
    std::chrono::nanoseconds used_{0};
    std::chrono::nanoseconds given_back_{0};
};

}  // namespace nightferry::net
