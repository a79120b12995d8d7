// What clinics' servers listed as ordered, kept so that it can be compared while the line is down, and shown
// as it was known at any time. A state of an order is a row of its own and is never edited but for when it
// ended.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/logbook/database.hpp"

namespace nightferry::logbook {

// An order as it was read.
struct SeenOrder {
    std::string id;      // Of the resource.
    std::string status;  // "active", or what became of it.
    std::string body;    // What is kept of the resource; empty: as it was.
};

// What one reading of a person's orders found. With a failure nothing is known anew.
struct OrdersSeen {
    std::string person;
    std::vector<SeenOrder> orders;
    std::int64_t others = 0;  // Orders of which nothing is kept.
    std::string failure;
};

// A state of an order, and how long it was so.
struct ShelvedOrder {
    SeenOrder order;
    Instant from;
    std::optional<Instant> until;
};

struct OrderHistory {
    std::optional<Instant> first_read;
    std::optional<Instant> last_read;
    std::string failure;  // Of the newest attempt.
    std::int64_t others = 0;
    std::vector<ShelvedOrder> states;  // In the order in which they were seen.

    // The ids of those that were active when last read.
    std::vector<std::string> active() const;
};

class OrderShelf {
 public:
    explicit OrderShelf(Database& db) : db_(db) {}

    // Keeps what was read, in one commit. What is not among it any more has ended.
    Result<void> keep(const std::string& clinic, const OrdersSeen& seen, Instant now);

    Result<OrderHistory> history(const std::string& clinic, const std::string& person);

    // How often something was kept since this object was made.
    std::int64_t changes() const { return changes_; }

 private:
    Result<void> keep_orders(const std::string& clinic, const OrdersSeen& seen, const OrderHistory& known,
                             Instant now);
    Result<void> keep_reading(const std::string& clinic, const OrdersSeen& seen, Instant now);

    Database& db_;
    std::int64_t changes_ = 0;
};

}  // namespace nightferry::logbook
