// Reads what one clinic's server lists as ordered for one person: the search with all its pages, the
// Medication that an order refers to, and what became of orders that are no longer listed. Pure: tells what
// to ask next and is told the answers; every list has its limit.
//
// What is not read to its end counts as not read: half of a list would look as if orders had ended.
#pragma once

#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/logbook/order_shelf.hpp"
#include "daemon/mapping/clinic_orders.hpp"
#include "daemon/sync/ports.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::sync {

// Whose orders are read, and where.
struct OrdersAsked {
    std::string base;  // The clinic's FHIR base address.
    std::string person;
    std::string patient;              // "Patient/…"
    std::vector<std::string> active;  // Ids of those that were active when last read.
};

class OrderWalk {
 public:
    static constexpr int pages_max = 20;
    static constexpr std::size_t orders_max = 200;
    static constexpr std::size_t reads_max = 40;  // Of medicines and of ended orders, together.

    // The household outlives the walk.
    OrderWalk(OrdersAsked asked, const entry::Household& household);

    // Nothing when there is nothing left to ask.
    std::optional<HttpRequest> next() const;
    // What was answered to next(). An answer that is none of use never stops anything but this walk.
    void on(const Reply& reply);

    logbook::OrdersSeen result() const;

 private:
    struct Found {
        std::string id;
        fhir::json::Document order = fhir::json::Document();
        std::string medication = {};  // Target of the Medication to read; empty: none.
        std::optional<fhir::json::Document> read = std::nullopt;
    };
    enum class Stage { searching, reading_medications, looking_for_ended, over };

    void fail(std::string words);
    void on_page(const HttpAnswer& answer);
    void take(const fhir::json::Value& order);
    void on_medication(const HttpAnswer& answer);
    void on_ended(const HttpAnswer& answer);
    void go_on();
    bool is_of_the_patient(const fhir::json::Value& order) const;
    bool is_found(const std::string& id) const;

    const OrdersAsked asked_;
    const entry::Household& household_;
    Stage stage_ = Stage::searching;
    std::string target_;
    int pages_ = 0;
    std::size_t listed_ = 0;
    std::size_t reads_ = 0;
    std::size_t next_ = 0;  // Of found_ or asked_.active, by the stage.
    std::vector<Found> found_;
    std::vector<logbook::SeenOrder> ended_;
    std::string failure_;
};

// By which orders doses were and are given, of all that is kept.
std::vector<mapping::OrderInForce> orders_in_force(const logbook::OrderHistory& history,
                                                   const entry::Household& household);

}  // namespace nightferry::sync
