#include "daemon/command/bounded_input.hpp"

#include <algorithm>
#include <cerrno>
#include <system_error>

namespace nightferry::command {

namespace {

constexpr std::size_t block_bytes = 1 << 16;

}  // namespace

Bounded read_whole(std::istream& input, std::size_t bytes_max, std::string& text) {
    text.clear();
    char block[block_bytes];
    while (input) {
        input.read(block, static_cast<std::streamsize>(block_bytes));
        text.append(block, static_cast<std::size_t>(input.gcount()));
        if (text.size() > bytes_max) return Bounded::too_long;
    }
    return input.bad() ? Bounded::failed : Bounded::done;
}

Bounded read_line(std::istream& input, std::size_t bytes_max, std::string& text) {
    text.clear();
    char block[block_bytes];
    for (;;) {
        // Stops behind the line feed, at the end, or with a full block (then fail() without eof()).
        input.getline(block, static_cast<std::streamsize>(block_bytes));
        auto count = static_cast<std::size_t>(input.gcount());
        const bool more = input.fail() && !input.eof() && !input.bad() && count + 1 == block_bytes;
        if (!input.fail() && !input.eof() && count > 0) --count;  // The line feed was counted, not stored.
        text.append(block, count);
        if (text.size() > bytes_max) return Bounded::too_long;
        if (!more) break;
        input.clear();
    }
    if (input.bad() || (input.fail() && text.empty())) return Bounded::failed;
    return Bounded::done;
}

InputFile::InputFile(const std::string& path) {
    if (path == "-") return;
    errno = 0;
    stream_.open(path, std::ios::binary);
    if (!stream_) why_not_ = std::generic_category().message(errno);
}

}  // namespace nightferry::command
