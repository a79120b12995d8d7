// The part of Outbox that keeps what is known of a clinic from pass to pass.
#include <algorithm>
#include <array>
#include <utility>

#include "daemon/logbook/outbox.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

using KnownPatients = std::map<std::string, ClinicState::KnownPatient>;

// Returns how many were not known like this before.
Result<std::int64_t> save_patients(Database& db, const std::string& clinic, const KnownPatients& patients) {
    std::int64_t changed = 0;
    for (const auto& [person, patient] : patients) {
        auto keep = db.prepare(
            "INSERT INTO known_patients "
            "(clinic, person, identifier, reference, left_out_because, left_out_us, left_out_reference) "
            "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7) ON CONFLICT DO UPDATE SET "
            "(identifier, reference, left_out_because, left_out_us, left_out_reference) = "
            "(?3, ?4, ?5, ?6, ?7) "
            "WHERE (identifier, reference, left_out_because, left_out_us, left_out_reference) <> "
            "(?3, ?4, ?5, ?6, ?7) RETURNING 1");
        if (!keep) return keep.error();
        const auto is_news = keep->bind(1, clinic)
                                 .bind(2, person)
                                 .bind(3, patient.identifier)
                                 .bind(4, patient.reference)
                                 .bind(5, patient.left_out_because)
                                 .bind(6, micros(patient.left_out_since))
                                 .bind(7, patient.left_out_reference)
                                 .step();
        if (!is_news) return is_news.error();
        if (*is_news) ++changed;
    }
    return changed;
}

Result<KnownPatients> patients_of(Database& db, const std::string& clinic) {
    auto query = db.prepare(
        "SELECT person, identifier, reference, left_out_because, left_out_us, left_out_reference "
        "FROM known_patients WHERE clinic = ?1");
    if (!query) return query.error();
    query->bind(1, clinic);
    KnownPatients patients;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return patients;
        patients[query->text(0)] = {query->text(1), query->text(2), query->text(3),
                                    instant_from(query->integer(4)), query->text(5)};
    }
}

constexpr std::array results{
    std::pair{PassResult::all_sent, std::string_view("all_sent")},
    std::pair{PassResult::stopped, std::string_view("stopped")},
    std::pair{PassResult::out_of_time, std::string_view("out_of_time")},
};

std::string_view word_for(PassResult result) {
    return std::ranges::find(results, result, &decltype(results)::value_type::first)->second;
}

std::optional<PassResult> result_from(const Statement& row, int column) {
    if (row.is_null(column)) return std::nullopt;
    // The table's CHECK constraint allows no other word.
    return std::ranges::find(results, row.text(column), &decltype(results)::value_type::second)->first;
}

}  // namespace

Result<void> Outbox::save(const std::string& clinic, const ClinicState& state) {
    auto keep = db_.prepare(
        "INSERT OR REPLACE INTO clinics (clinic, failures, not_before_us, pass_started_us, pass_ended_us, "
        "pass_confirmed, pass_set_aside, words, skew_us, unguarded, provenance_apart, knows_conditions, "
        "pass_result) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)");
    if (!keep) return keep.error();
    if (state.pass_result) {
        keep->bind(13, word_for(*state.pass_result));
    } else {
        keep->bind_null(13);
    }
    const auto kept = keep->bind(1, clinic)
                          .bind(2, state.failures)
                          .bind(3, micros(state.not_before))
                          .bind(4, micros(state.pass_started))
                          .bind(5, micros(state.pass_ended))
                          .bind(6, state.pass_confirmed)
                          .bind(7, state.pass_set_aside)
                          .bind(8, state.words)
                          .bind(9, state.skew.count())
                          .bind(10, state.unguarded ? 1 : 0)
                          .bind(11, state.provenance_apart ? 1 : 0)
                          .bind(12, state.knows_conditions ? 1 : 0)
                          .run();
    if (!kept) return kept.error();
    const auto changed = save_patients(db_, clinic, state.patients);
    if (!changed) return changed.error();
    patient_changes_ += *changed;
    return {};
}

Result<ClinicState> Outbox::state(const std::string& clinic) {
    auto query = db_.prepare(
        "SELECT failures, not_before_us, pass_started_us, pass_ended_us, pass_confirmed, pass_set_aside, "
        "words, skew_us, unguarded, provenance_apart, knows_conditions, pass_result FROM clinics "
        "WHERE clinic = ?1");
    if (!query) return query.error();
    const auto row = query->bind(1, clinic).step();
    if (!row) return row.error();
    if (!*row) return ClinicState{};
    auto patients = patients_of(db_, clinic);
    if (!patients) return patients.error();
    return ClinicState{static_cast<int>(query->integer(0)),
                       instant_from(query->integer(1)),
                       instant_from(query->integer(2)),
                       instant_from(query->integer(3)),
                       result_from(*query, 11),
                       query->integer(4),
                       query->integer(5),
                       query->text(6),
                       std::chrono::microseconds{query->integer(7)},
                       query->integer(8) != 0,
                       query->integer(9) != 0,
                       query->integer(10) != 0,
                       std::move(*patients)};
}

}  // namespace nightferry::logbook
