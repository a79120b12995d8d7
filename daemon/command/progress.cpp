#include "daemon/command/progress.hpp"

#include <unistd.h>

#include <cstdio>
#include <cstdlib>

namespace nightferry::command {

namespace {

constexpr std::chrono::seconds silence{1};
constexpr std::chrono::milliseconds between{200};
constexpr std::string_view clear_line = "\r\x1b[K";  // ECMA-48 EL.

}  // namespace

Progress::Progress(const Clock& clock, Screen screen)
    : clock_(clock), screen_(std::move(screen)), began_(clock.now()), told_(began_) {}

Progress::~Progress() {
    if (is_shown_) screen_(clear_line);
}

void Progress::tell(std::string_view words) {
    const Instant now = clock_.now();
    if (now - began_ < silence || (is_shown_ && now - told_ < between)) return;
    tell_now(words);
}

void Progress::tell_now(std::string_view words) {
    if (!screen_) return;
    screen_(std::string(clear_line) + std::string(words) + " …");
    told_ = clock_.now();
    is_shown_ = true;
}

Progress::Screen screen_of_this_process() {
    const char* terminal = std::getenv("TERM");
    if (::isatty(STDERR_FILENO) != 1 || terminal == nullptr || std::string_view(terminal) == "dumb")
        return {};
    return [](std::string_view text) {
        std::fwrite(text.data(), 1, text.size(), stderr);
        std::fflush(stderr);
    };
}

}  // namespace nightferry::command
