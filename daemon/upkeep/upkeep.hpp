// Keeps what the hub computes up to date: the summaries of closed days and weeks in the logbook, and the
// history of flags. Everything else is computed when it is asked for.
#pragma once

#include <functional>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "daemon/care/review.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/core/result.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/logbook/flag_store.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/upkeep/order_book.hpp"
#include "daemon/upkeep/patient_book.hpp"

namespace nightferry::upkeep {

class Upkeep {
 public:
    // `clinics_for` names the clinics that may have entries of a person.
    Upkeep(const entry::Household& household, const std::vector<care::Plan>& plans, logbook::Logbook& logbook,
           logbook::FlagStore& flags, Clock& clock,
           std::function<std::vector<std::string>(const std::string& person)> clinics_for)
        : household_(household),
          plans_(plans),
          logbook_(logbook),
          flags_(flags),
          clock_(clock),
          clinics_for_(std::move(clinics_for)) {}

    // From now on reviews say also how what clinics list as ordered compares. The book outlives this object.
    void compare_orders(OrderBook& book) { orders_ = &book; }
    // The same of clinics that get nothing of a person.
    void watch_patients(PatientBook& book) { patients_ = &book; }
    // What clinics list as ordered for a person; nothing without a book.
    Result<std::vector<care::OrdersRead>> orders(const std::string& person, Instant known_at);

    // Summaries are for clinics, and a wrong clock would close days that are not over. So they are made only
    // in a pass, when the clinic's own clock has been seen.
    enum class Summaries { left, made };

    // Which clinics get nothing of a person; nothing without a book.
    Result<std::vector<care::LeftOut>> left_out(const std::string& person, Instant known_at);

    // Brings flags, and summaries if they are to be made, to what is known now, if anything was added or came
    // due since the last time; leaves everything as it is while the clock is in doubt. An error means that
    // the logbook failed; the next call does it all again.
    Result<void> catch_up(Summaries summaries = Summaries::left);

    // Says whether this clinic's clock differs from the hub's.
    void doubt_clock(const std::string& clinic, bool in_doubt);
    bool is_clock_in_doubt() const { return !doubting_.empty(); }

    // The next instant at which a slot or a day is over, which changes what is known; none without a regimen.
    std::optional<Instant> next_change() const { return next_change_; }

    const std::vector<care::Plan>& plans() const { return plans_; }
    const care::Plan* plan_of(const std::string& person) const;

    Result<care::Review> review(const care::Plan& plan, const care::Period& period, Instant known_at);
    Result<care::FlagHistory> history(const std::string& person) { return flags_.history(person); }
    // Says that a person dealt with a flag. False, and nothing changed, when it is not open.
    Result<bool> settle(const std::string& person, const std::string& key, const std::string& by,
                        const std::string& words);

 private:
    Result<care::Review> review_in(const care::Plan& plan, const logbook::PersonHistory& history,
                                   const care::Period& period, Instant known_at);
    // Rises when what clinics say changes.
    std::int64_t changes_at_clinics() const;
    Result<void> catch_up(const care::Plan& plan, Summaries summaries, Instant now);
    Result<void> keep_summaries(const care::Review& review, const care::Plan& plan,
                                const logbook::PersonHistory& history, Instant now);

    const entry::Household& household_;
    const std::vector<care::Plan>& plans_;
    logbook::Logbook& logbook_;
    logbook::FlagStore& flags_;
    Clock& clock_;
    std::function<std::vector<std::string>(const std::string&)> clinics_for_;
    OrderBook* orders_ = nullptr;
    PatientBook* patients_ = nullptr;
    std::set<std::string> doubting_;  // Clinics whose clocks differ.
    std::int64_t seen_additions_ = -1;
    std::int64_t seen_at_clinics_ = 0;
    bool summaries_are_behind_ = true;
    Instant seen_now_;
    std::optional<Instant> next_change_;
};

}  // namespace nightferry::upkeep
