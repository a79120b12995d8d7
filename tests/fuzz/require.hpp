// How a fuzz target says that a claim does not hold: libFuzzer and the replay both take an abort for a
// finding.
#pragma once

#include <cstdio>
#include <cstdlib>

namespace nightferry::test {

inline void require(bool holds, const char* claim) {
    if (holds) return;
    std::fprintf(stderr, "does not hold: %s\n", claim);
    std::abort();
}

}  // namespace nightferry::test
