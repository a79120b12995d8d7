// How many requests one connection to a clinic bears, as it turns out.
//
// Some gateway, or a line that is cut after so many bytes, can break each connection at the same request:
// then no step that takes more requests than that would ever be done, however often it is tried. When two
// connections in a row break at the same request, the following ones are closed before it. What breaks by
// chance breaks at one request here and at another there; a connection that bears more than the one before
// also speaks against it.
#pragma once

#include <chrono>
#include <optional>

#include "daemon/core/time.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::sync {

class KeepAlive {
 public:
    // Whether the connection has borne all that it seems to bear, so that the next request needs a fresh one.
    bool is_used_up(Instant now);
    // It was closed by us.
    void closed() { answered_ = 0; }
    // What came of a request; true when this shows that connections break, and after how many answers.
    bool on(const Reply& reply, Instant now);

    // Answers that one connection gives; nothing when no limit is known.
    std::optional<int> most() const { return most_; }

 private:
    bool broke(Instant now);

    static constexpr std::chrono::hours believed_for{24};  // Then it is tried again.

    int answered_ = 0;                // By this connection.
    std::optional<int> broke_after_;  // The newest that broke; none when one has borne more since.
    std::optional<int> most_;
    Instant learned_;
};

}  // namespace nightferry::sync
