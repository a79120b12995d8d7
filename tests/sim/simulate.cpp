// Lives through simulated worlds until so many nights have passed, or through one that failed before.
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

#include "daemon/sync/marks.hpp"
#include "tests/sim/world.hpp"

namespace {

using namespace nightferry;

struct Options {
    std::uint64_t nights = 2000;
    std::uint64_t seed = 1;
    bool one_world = false;
    bool expects_violation = false;  // The program was built with a mistake in it.
    bool wants_every_mark = false;
};

bool read(Options& options, int argc, char** argv) {
    for (int i = 1; i < argc; ++i) {
        const std::string_view argument = argv[i];
        const bool has_value = i + 1 < argc;
        if (argument == "--nights" && has_value) {
            options.nights = std::strtoull(argv[++i], nullptr, 10);
        } else if (argument == "--seed" && has_value) {
            options.seed = std::strtoull(argv[++i], nullptr, 10);
        } else if (argument == "--world" && has_value) {
            options.seed = std::strtoull(argv[++i], nullptr, 10);
            options.one_world = true;
        } else if (argument == "--expect-violation") {
            options.expects_violation = true;
        } else if (argument == "--every-mark") {
            options.wants_every_mark = true;
        } else {
            std::fprintf(stderr,
                         "usage: simulate [--nights N] [--seed FIRST] [--world SEED] [--expect-violation] "
                         "[--every-mark]\n");
            return false;
        }
    }
    return true;
}

// Marks that no world has reached; how many.
int tell_marks() {
    int missing = 0;
    for (const sync::MarkCount& one : sync::mark_counts()) {
        if (one.times > 0) continue;
        std::printf("never reached: %s\n", std::string(one.name).c_str());
        ++missing;
    }
    return missing;
}

}  // namespace

int main(int argc, char** argv) {
    Options options;
    if (!read(options, argc, argv)) return 64;
    if (options.one_world) {
        const sim::Report report = sim::World(options.seed, true).run();
        std::printf("%s\n", report.violation.empty() ? "every promise was kept" : report.violation.c_str());
        return report.violation.empty() ? 0 : 1;
    }
    const auto started = std::chrono::steady_clock::now();
    std::uint64_t nights = 0;
    std::uint64_t worlds = 0;
    std::uint64_t entries = 0;
    std::uint64_t requests = 0;
    std::uint64_t boots = 0;
    std::uint64_t violations = 0;
    for (std::uint64_t seed = options.seed; nights < options.nights; ++seed) {
        const sim::Report report = sim::World(seed).run();
        nights += static_cast<std::uint64_t>(report.nights);
        ++worlds;
        entries += report.entries;
        requests += report.requests;
        boots += report.boots;
        if (report.violation.empty()) continue;
        ++violations;
        std::printf("%s\n  replay: tests/sim/run --world %llu\n", report.violation.c_str(),
                    static_cast<unsigned long long>(seed));
        std::fflush(stdout);
        if (options.expects_violation || violations >= 20) break;
    }
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - started;
    std::printf(
        "%llu nights in %llu worlds, %llu entries, %llu requests, %llu starts of the hub, %llu violations, "
        "%.1f s\n",
        static_cast<unsigned long long>(nights), static_cast<unsigned long long>(worlds),
        static_cast<unsigned long long>(entries), static_cast<unsigned long long>(requests),
        static_cast<unsigned long long>(boots), static_cast<unsigned long long>(violations), took.count());
    if (options.expects_violation) return violations > 0 ? 0 : 1;
    const int missing = options.wants_every_mark ? tell_marks() : 0;
    return violations == 0 && missing == 0 ? 0 : 1;
}
