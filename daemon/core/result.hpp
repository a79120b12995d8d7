// Result<T>: a value, or an Error that says what went wrong and what to do about it.
#pragma once

#include <boost/system/result.hpp>
#include <string>

namespace nightferry {

// Few codes, named for the cause; what differs in the reaction has its own code.
enum class Errc {
    bad_input,    // What was handed in is wrong; the sender has to change it.
    not_found,    // The thing asked for does not exist.
    storage,      // The disk or the database failed; state may be in doubt, so the process stops.
    disk_full,    // No room; refuse intake and go on.
    corrupt,      // The logbook file cannot be trusted; needs a person.
    unreadable,   // One stored entry cannot be read; the others can.
    locked,       // Another process holds the resource.
    unreachable,  // No connection could be made or kept.
    setup,        // Settings or the environment are wrong; needs a person.
};

struct Error {
    Errc code = Errc::setup;
    std::string detail;  // One sentence for a person; never content of an entry.
};

// Called by Result::value() on an unchecked error: loud, because it is our bug.
[[noreturn]] void throw_exception_from_error(const Error& error, const boost::source_location& where);

template <class T>
using Result = boost::system::result<T, Error>;

}  // namespace nightferry
