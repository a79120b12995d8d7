// How our programs end, by the names of sysexits.h.
#pragma once

#include "daemon/core/result.hpp"

namespace nightferry {

enum class ExitCode {
    ok = 0,
    usage = 64,        // The command line is wrong.
    bad_input = 65,    // Something that was handed in was refused; the rest was taken.
    unavailable = 69,  // The daemon, or what was asked for, is not there.
    no_new_file = 73,  // A file cannot be made, or is there already.
    io = 74,           // The disk failed.
    locked = 75,       // Another process is in the way; trying again later may help.
    settings = 78,     // The settings or the environment have to be corrected.
};

constexpr ExitCode exit_code_of(Errc code) {
    switch (code) {
        case Errc::bad_input:
            return ExitCode::bad_input;
        case Errc::not_found:
        case Errc::unreachable:
            return ExitCode::unavailable;
        case Errc::storage:
        case Errc::disk_full:
        case Errc::corrupt:
        case Errc::unreadable:
            return ExitCode::io;
        case Errc::locked:
            return ExitCode::locked;
        case Errc::setup:
            return ExitCode::settings;
    }
    return ExitCode::settings;
}

constexpr int as_status(ExitCode code) {
    return static_cast<int>(code);
}

}  // namespace nightferry
