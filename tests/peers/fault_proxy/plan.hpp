// Which fault meets which connection and which request: drawn from a seed or forced from outside, and
// counted.
#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <random>
#include <set>
#include <string>
#include <string_view>

namespace nightferry::test {

enum class Fault {
    none,

    // A connection that never becomes one.
    connection_reset,    // Accepted and reset at once.
    handshake_cut,       // Closed before a word of TLS is said.
    handshake_garbage,   // Answered in plain HTTP, as a wrongly set up gateway does.
    handshake_no_reply,  // Nothing is said for a while.

    // A request that the server never sees.
    cut_before,
    reset_before,
    cut_in_request,  // Closed after some bytes of the request's body.
    half_closed,     // Our direction is closed and the other is left open and silent.
    silence,
    http_500,
    http_502,
    http_503,  // With Retry-After: 1.
    http_429,  // With Retry-After: 0 or 1.
    html_200,  // The page of some login portal.

    // A request on which the server has acted, although the client cannot know.
    cut_after,
    reset_after,
    half_closed_after,
    http_500_after,
    http_502_after,
    http_503_after,
    http_429_after,
    html_200_after,
    truncated_sized,    // Fewer bytes than Content-Length promises.
    truncated_chunked,  // The last chunk is missing.
    truncated_unsized,  // No length is promised, and TLS is ended as if that were all.

    // The right answer, but in a way of its own.
    delay,
    drip,
    duplicate,        // The server sees the request twice in a row; either of its answers is passed on.
    duplicate_later,  // And once more some seconds later, when nobody expects it.
    late,          // The client's connection is cut at once; the server sees the request some seconds later.
    stale_answer,  // Behind the right answer follows one that belongs to an earlier request.
};

std::string_view name_of(Fault fault);
std::optional<Fault> fault_named(std::string_view name);

// A fault and a number for its details: how many bytes, how long.
struct Draw {
    Fault fault = Fault::none;
    std::uint32_t detail = 0;
};

class Plan {
 public:
    Plan(std::uint32_t seed, unsigned percent) : random_(seed), percent_(percent) {}

    Draw for_connection();
    Draw for_request();

    // How many of a hundred requests meet a fault; of connections it is a quarter of that.
    void set_percent(unsigned percent) { percent_ = percent; }
    // Nothing else is drawn any more; an empty set lifts the restriction.
    void restrict_to(std::set<Fault> only) { only_ = std::move(only); }
    // The next connection or request, whichever this fault is about, meets it; with none a request meets
    // nothing.
    void force(Fault fault, unsigned times);
    // No fault from now on, also none that was forced and has not happened.
    void calm();

    const std::map<Fault, std::uint64_t>& counts() const { return counts_; }

 private:
    Draw draw(bool connection, unsigned per_thousand);

    std::mt19937 random_;
    unsigned percent_;
    std::set<Fault> only_;
    std::deque<Fault> forced_[2];  // On requests, on connections.
    std::map<Fault, std::uint64_t> counts_;
};

}  // namespace nightferry::test
