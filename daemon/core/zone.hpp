// Time zones from the system's tzdata.
#pragma once

#include <string>
#include <string_view>
#include <variant>

#include "daemon/core/result.hpp"
#include "daemon/core/time.hpp"

namespace nightferry {

class Zone {
 public:
    // "Europe/Dublin"; Errc::setup when tzdata does not know the name.
    static Result<Zone> find(std::string_view name);

    // What a wall clock reading means here. Around a clock change it can mean nothing or two things; the
    // caller has to ask, never guess.
    struct Nonexistent {
        Moment jump;                   // When the clock is put forward, and the offset from then on.
        std::chrono::seconds skipped;  // By how much.
    };
    struct Ambiguous {
        Moment first;
        Moment second;
    };
    using Reading = std::variant<Moment, Nonexistent, Ambiguous>;
    Reading read(LocalSecond local) const;

    // How an instant reads here.
    Moment at(Instant instant) const;

    const std::string& name() const { return name_; }

 private:
    Zone(std::string name, const void* entry) : name_(std::move(name)), entry_(entry) {}

    std::string name_;
    const void* entry_;  // The library's zone, which lives as long as the process.
};

}  // namespace nightferry
