// What failing_calls.cpp decides about a system call before failing_calls_libc.cpp makes it.
#pragma once

namespace failing_calls {

// What a call does, whatever its spelling: write() to a file is write_, to a socket send_.
enum Kind {
    accept_,
    connect_,
    send_,
    recv_,
    notice_,  // Reading the inbox's notices.
    list_,    // Reading the next name in a folder.
    read_,
    pread_,
    open_,
    unlink_,
    mode_,
    write_,
    pwrite_,
    sync_,
    truncate_,
    rename_,
    mkdir_,
    disk_,  // Any of the six before it, and making a file by opening it.
    none_,
};

// A verdict that is neither 0 (let it through) nor an errno to fail with: write half of the bytes to the
// file.
constexpr int only_half = -1;

// Counts a call on this path; one outside of the folder that is meant is let through uncounted.
int verdict_on_path(Kind kind, const char* path);

// The same for open(), which also changes the disk when it makes the file.
int verdict_on_open(const char* path, int flags);

// The same for a descriptor, by what it turns out to be.
struct KindFor {
    Kind socket = none_;
    Kind file = none_;
    Kind notices = none_;
};
int verdict_on(int descriptor, const KindFor& kinds);

}  // namespace failing_calls
