// Where lines of the log leave the process.
#pragma once

#include <filesystem>
#include <string_view>

namespace nightferry::net {

void write_to_standard_error(std::string_view line);

// Whether standard error leads to the journal of systemd, as JOURNAL_STREAM of systemd.exec(5) tells it.
bool is_standard_error_the_journal();

// Sends entries as datagrams to the journal's socket, without any of its libraries.
class Journal {
 public:
    explicit Journal(std::filesystem::path socket = "/run/systemd/journal/socket")
        : socket_(std::move(socket)) {}
    Journal(const Journal&) = delete;
    Journal& operator=(const Journal&) = delete;
    ~Journal();

    enum class Sent {
        yes,
        held_up,  // The journal is there, but does not get on; later it may take the same.
        no,       // There is none, or it does not take this.
    };
    // Never waits.
    Sent send(std::string_view entry);

 private:
    std::filesystem::path socket_;
    int descriptor_ = -1;
};

}  // namespace nightferry::net
