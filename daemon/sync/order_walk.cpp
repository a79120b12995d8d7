#include "daemon/sync/order_walk.hpp"

#include <algorithm>
#include <map>

#include "daemon/core/words.hpp"
#include "daemon/sync/fate.hpp"
#include "fhir/exchange/location.hpp"
#include "fhir/exchange/paging.hpp"
#include "fhir/exchange/query.hpp"
#include "fhir/exchange/search.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/resource/medication_request.hpp"

namespace nightferry::sync {

namespace exchange = fhir::exchange;
namespace json = fhir::json;

namespace {

constexpr std::string_view order_type = "MedicationRequest";

// https://hl7.org/fhir/R4/medicationrequest.html#search, the same in R4B and R5.
std::string search_for(const std::string& patient) {
    return "/" + std::string(order_type) + "?" +
           exchange::Query().add("patient", patient).add("status", "active").add("intent", "order").text();
}

HttpRequest get(const std::string& target) {
    return {"GET", target, {{"Accept", "application/fhir+json"}}, {}};
}

}  // namespace

OrderWalk::OrderWalk(OrdersAsked asked, const entry::Household& household)
    : asked_(std::move(asked)), household_(household), target_(search_for(asked_.patient)) {}

std::optional<HttpRequest> OrderWalk::next() const {
    return stage_ == Stage::over ? std::nullopt : std::optional(get(target_));
}

void OrderWalk::fail(std::string words) {
    failure_ = std::move(words);
    stage_ = Stage::over;
}

void OrderWalk::on(const Reply& reply) {
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    if (answer == nullptr || says_busy(reply)) return fail(words_for(reply));
    // For now only: what it is about may be read next time.
    if (answer->status >= 500) return fail(words_for(reply));
    switch (stage_) {
        case Stage::searching:
            if (answer->status != 200) return fail("the clinic refused the search: " + words_for(reply));
            return on_page(*answer);
        case Stage::reading_medications:
            on_medication(*answer);
            break;
        case Stage::looking_for_ended:
            on_ended(*answer);
            break;
        case Stage::over:
            return;
    }
    ++next_;
    go_on();
}

void OrderWalk::on_page(const HttpAnswer& answer) {
    const auto page = exchange::read_search_answer(answer.body);
    if (!page) return fail("the clinic's answer to the search cannot be read");
    for (const exchange::Found& match : page->matches) {
        if (match.location.type == order_type) take(*match.resource);
    }
    if (found_.size() > orders_max)
        return fail("the clinic lists more than " + std::to_string(orders_max) + " active orders");
    listed_ += page->matches.size();
    if (page->next.empty()) {
        if (page->total.value_or(0) > listed_) return fail("the clinic counts more orders than it lists");
        return go_on();
    }
    if (++pages_ >= pages_max)
        return fail("the clinic's answer has more than " + std::to_string(pages_max) + " pages");
    const auto target = exchange::target_within(asked_.base, target_, page->next);
    if (!target)
        return fail("the next page of the clinic's answer lies at another address, which was not followed");
    target_ = *target;
}

// A server may leave out of account what it is asked for, so every order is looked at.
void OrderWalk::take(const json::Value& order) {
    const auto read = fhir::resource::read_medication_request(order);
    if (!read || read->status != "active" || read->intent != "order" || !is_of_the_patient(order) ||
        is_found(read->id))
        return;
    Found found{read->id};
    found.order.root().add_copy("order", order);
    const std::string& reference = read->medication_reference.reference;
    if (fhir::resource::is_empty(read->medication) && !reference.empty() && !reference.starts_with('#')) {
        const auto target = exchange::target_within(asked_.base, "/" + std::string(order_type), reference);
        const auto location = target ? exchange::parse_location(*target) : std::nullopt;
        if (location && location->type == "Medication") found.medication = "/" + location->reference();
    }
    found_.push_back(std::move(found));
}

bool OrderWalk::is_of_the_patient(const json::Value& order) const {
    const json::Value* subject = order.find("subject");
    const auto location =
        subject == nullptr ? std::nullopt : exchange::parse_location(subject->string_at("reference"));
    return location && location->reference() == asked_.patient;
}

bool OrderWalk::is_found(const std::string& id) const {
    return std::ranges::find(found_, id, &Found::id) != found_.end();
}

void OrderWalk::on_medication(const HttpAnswer& answer) {
    if (answer.status != 200) return;
    auto document = json::read(answer.body);
    if (!document || document->root().string_at("resourceType") != "Medication") return;
    const std::string target = found_[next_].medication;
    for (Found& one : found_) {
        if (one.medication != target || one.read) continue;
        one.read.emplace();
        one.read->root().add_copy("medication", document->root());
    }
}

void OrderWalk::on_ended(const HttpAnswer& answer) {
    logbook::SeenOrder ended{asked_.active[next_], "not listed", {}};
    if (answer.status == 404 || answer.status == 410) ended.status = "not found";
    const auto document = json::read(answer.body);
    const auto read = answer.status == 200 && document
                          ? fhir::resource::read_medication_request(document->root())
                          : std::nullopt;
    const bool is_it = read && read->id == ended.id && is_of_the_patient(document->root());
    if (is_it && !read->status.empty() && read->status != "active") ended.status = read->status;
    ended_.push_back(std::move(ended));
}

// To the next thing to ask, or to the end.
void OrderWalk::go_on() {
    if (stage_ == Stage::searching) {
        stage_ = Stage::reading_medications;
        next_ = 0;
    }
    if (stage_ == Stage::reading_medications) {
        while (next_ < found_.size() && (found_[next_].medication.empty() || found_[next_].read))
            ++next_;
        if (next_ < found_.size() && reads_++ < reads_max) {
            target_ = found_[next_].medication;
            return;
        }
        stage_ = Stage::looking_for_ended;
        next_ = 0;
    }
    while (next_ < asked_.active.size() && is_found(asked_.active[next_]))
        ++next_;
    if (next_ < asked_.active.size() && reads_++ < reads_max) {
        target_ = "/" + std::string(order_type) + "/" + asked_.active[next_];
        return;
    }
    stage_ = Stage::over;
}

logbook::OrdersSeen OrderWalk::result() const {
    logbook::OrdersSeen seen{asked_.person, {}, 0, failure_};
    if (!failure_.empty()) return seen;
    for (const Found& one : found_) {
        const json::Value* medication = one.read ? one.read->root().find("medication") : nullptr;
        std::string kept = mapping::kept_order(*one.order.root().find("order"), medication);
        const auto order = mapping::read_clinic_order(kept, household_);
        if (!order || order->recognition == care::Recognition::other) {
            ++seen.others;
        } else {
            seen.orders.push_back({one.id, "active", std::move(kept)});
        }
    }
    seen.orders.insert(seen.orders.end(), ended_.begin(), ended_.end());
    return seen;
}

std::vector<mapping::OrderInForce> orders_in_force(const logbook::OrderHistory& history,
                                                   const entry::Household& household) {
    std::map<std::string, std::pair<const logbook::ShelvedOrder*, std::optional<Instant>>> newest;
    for (const logbook::ShelvedOrder& state : history.states) {
        auto& [last, ended] = newest[state.order.id];
        if (state.order.status == "active") {
            last = &state;
            ended = state.until;
        } else if (last != nullptr) {
            ended = std::min(ended.value_or(state.from), state.from);
        }
    }
    std::vector<mapping::OrderInForce> all;
    for (const auto& [id, one] : newest) {
        const auto order = one.first == nullptr
                               ? std::nullopt
                               : mapping::read_clinic_order(one.first->order.body, household);
        auto in_force = order ? mapping::in_force(*order, one.second) : std::nullopt;
        if (in_force) all.push_back(std::move(*in_force));
    }
    return all;
}

}  // namespace nightferry::sync
