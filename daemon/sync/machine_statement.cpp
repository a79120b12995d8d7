// The part of SyncMachine that finds out what the clinic's server can do.
#include <string>

#include "daemon/core/words.hpp"
#include "daemon/sync/address_check.hpp"
#include "daemon/sync/machine.hpp"
#include "daemon/sync/marks.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/resource/capability_statement.hpp"

namespace nightferry::sync {

Action SyncMachine::ask_for_statement(Instant now) {
    phase_ = Phase::asking;
    sent_ = now;
    return Send{JobBuilder::statement_request()};
}

// A server that says nothing readable is tried in the best manner, and teaches us by its answers.
Action SyncMachine::on_statement(const Reply& reply, Instant now) {
    constexpr int failures_max = 3;
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    const bool is_away = answer == nullptr || says_busy(reply);
    if (is_away && fate_of(reply, Purpose::read) == Fate::stop) return stop_pass(words_for(reply), now);
    if (is_away) reached(Mark::statement_without_answer);
    if (is_away && ++statement_failures_ < failures_max) return retry_later(reply, now);
    const auto none = is_away ? std::nullopt : no_server_for_us(*answer);
    if (none && none->reached == NoAnswer::Reached::untrusted) return stop_pass(none->words, now);
    if (none) return retry_later(*none, now);
    statement_failures_ = 0;
    statement_read_ = now;
    if (is_away) return retry_later(reply, now);
    builder_.manner() = Manner{};
    statement_known_ = false;
    claimed_ = Carrier::single;
    search_refusals_ = 0;
    const auto document = fhir::json::read(answer->body);
    const auto statement = answer->status == 200 && document
                               ? fhir::resource::read_capability_statement(document->root())
                               : std::nullopt;
    if (!statement) reached(Mark::statement_unreadable);
    reads_patients_ = true;
    builder_.mapper().set_release(policy_.release.value_or(fhir::spec::Release::r4));
    if (!statement) return go_on(now);
    builder_.manner() = manner_for(*statement);
    statement_known_ = true;
    claimed_ = builder_.manner().carrier;
    const auto* patients = statement->type("Patient");
    reads_patients_ = statement->types.empty() || (patients != nullptr && patients->can("read"));
    if (policy_.release || statement->fhir_version.empty()) return go_on(now);
    if (!statement->release) {
        return stop_pass("the clinic's server says that it speaks FHIR " +
                             in_quotes(statement->fhir_version) +
                             ", which this hub does not; it needs 4.0 (R4), 4.3 (R4B) or 5.0 (R5)",
                         now);
    }
    builder_.mapper().set_release(*statement->release);
    return go_on(now);
}

}  // namespace nightferry::sync
