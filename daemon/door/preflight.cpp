#include "daemon/door/preflight.hpp"

#include <algorithm>

#include "daemon/core/words.hpp"
#include "daemon/sharing/clinic_view.hpp"
#include "daemon/sync/address_check.hpp"
#include "daemon/sync/fate.hpp"
#include "fhir/exchange/query.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::door {

using fhir::resource::CapabilityStatement;
using Result = Step::Result;
using Stage = net::Arrival::Stage;

namespace {

constexpr std::chrono::days soon{21};

HttpRequest request(std::string method, std::string target, std::string body = {}) {
    HttpHeaders headers{{"Accept", "application/fhir+json"}};
    if (!body.empty()) headers.emplace_back("Content-Type", "application/fhir+json");
    return {std::move(method), std::move(target), std::move(headers), std::move(body)};
}

std::optional<CapabilityStatement> statement_in(const sync::Reply& reply) {
    const HttpAnswer* answer = std::get_if<HttpAnswer>(&reply);
    if (answer == nullptr || answer->status != 200) return std::nullopt;
    const auto document = fhir::json::read(answer->body);
    return document ? fhir::resource::read_capability_statement(document->root()) : std::nullopt;
}

std::string in_words(const sync::Manner& manner) {
    std::string words = manner.carrier == sync::Carrier::transaction ? "takes transactions"
                        : manner.carrier == sync::Carrier::batch     ? "takes batches"
                                                                     : "takes single requests";
    words += manner.creating == sync::Creating::on_condition   ? ", creates on condition"
             : manner.creating == sync::Creating::under_our_id ? ", creates under our ids"
                                                               : ", creates after a look";
    words += manner.checks_versions ? ", checks versions" : ", does not check versions";
    words += manner.searches ? ", finds by identifier" : ", does not find by identifier";
    return words + (manner.takes_provenance ? ", keeps Provenance" : ", keeps no Provenance");
}

std::string joined(const std::vector<std::string>& items) {
    return all_of(std::vector<std::string_view>(items.begin(), items.end()));
}

}  // namespace

std::string_view word_for(Step::Result result) {
    return result == Result::good ? "good" : result == Result::note ? "note" : "bad";
}

Preflight::Preflight(const config::Clinic& clinic, Wish wish)
    : clinic_(clinic), wish_(std::move(wish)), patients_(sharing::patients_to_find(clinic)) {}

bool is_good(const std::vector<Step>& steps) {
    return std::none_of(steps.begin(), steps.end(),
                        [](const Step& step) { return step.result == Result::bad; });
}

std::optional<Preflight::Ask> Preflight::next() const {
    const TestRecord& record = wish_.record;
    switch (phase_) {
        case Phase::asking:
            // Everybody may ask for it (https://hl7.org/fhir/R4/http.html#capabilities), so it shows how far
            // the way is open without a token.
            return Ask{request("GET", "/metadata"), false};
        case Phase::signing_in:
            return Ask{request("GET", "/metadata")};
        case Phase::patients:
            return Ask{sync::patient_request(patients_[next_patient_])};
        case Phase::validating_dose:
            return Ask{request("POST", "/MedicationAdministration/$validate",
                               test_administration(record, patient_, release_))};
        case Phase::validating_finding:
            return Ask{request("POST", "/Observation/$validate", test_observation(record, release_))};
        case Phase::writing: {
            HttpRequest write = request("POST", "/Observation", test_observation(record, release_));
            write.headers.emplace_back(
                "If-None-Exist",
                fhir::exchange::identifier_query(record.identifier_system, record.identifier_value));
            return Ask{std::move(write)};
        }
        case Phase::retracting:
            return Ask{request("PUT", "/Observation/" + record.id, test_observation(record, release_))};
        case Phase::over:
            break;
    }
    return std::nullopt;
}

void Preflight::answered(const Told& told) {
    switch (phase_) {
        case Phase::asking:
            return on_way(told);
        case Phase::signing_in:
            return on_signed_in(told);
        case Phase::patients:
            return on_patient(told.reply);
        case Phase::validating_dose:
            on_verdict(told.reply, "MedicationAdministration");
            phase_ = Phase::validating_finding;
            if (!offers_validation("Observation")) begin_writing();
            return;
        case Phase::validating_finding:
            on_verdict(told.reply, "Observation");
            return begin_writing();
        case Phase::writing:
            return on_written(told.reply);
        case Phase::retracting:
            on_retracted(told.reply);
            return end();
        case Phase::over:
            return;
    }
}

void Preflight::add(Result result, std::string name, std::string words) {
    steps_.push_back({result, std::move(name), std::move(words)});
}

void Preflight::on_way(const Told& told) {
    const net::Arrival& arrival = told.arrival;
    const auto* none = std::get_if<sync::NoAnswer>(&told.reply);
    const std::string words = none == nullptr ? "" : none->words;
    const std::string host = clinic_.proxy ? "the proxy " + clinic_.proxy->host : clinic_.base.host;
    if (arrival.stage < Stage::named) return add(Result::bad, "name", words), end();
    add(Result::good, "name", host + " is at " + joined(arrival.addresses));
    if (arrival.stage < Stage::connected) return add(Result::bad, "connection", words), end();
    add(Result::good, "connection", arrival.peer + " answers");
    if (clinic_.proxy) {
        if (arrival.stage < Stage::tunnelled) return add(Result::bad, "proxy", words), end();
        add(Result::good, "proxy", "it opens a way to " + clinic_.base.host);
    }
    if (clinic_.base.tls) {
        if (arrival.stage < Stage::trusted) return add(Result::bad, "TLS", words), end();
        add(Result::good, "TLS", arrival.tls + "; " + clinic_.base.host + " is who it has to be");
        if (arrival.trust_ends) {
            const bool is_soon = *arrival.trust_ends - told.now < soon;
            add(is_soon ? Result::note : Result::good, "certificate",
                "those of the server are good until " + to_text(*arrival.trust_ends));
        }
    }
    if (none != nullptr) return add(Result::bad, "answer", words), end();
    statement_ = statement_in(told.reply);
    phase_ = Phase::signing_in;
}

void Preflight::on_signed_in(const Told& told) {
    const HttpAnswer* answer = std::get_if<HttpAnswer>(&told.reply);
    if (answer == nullptr || answer->status == 401 || answer->status == 403) {
        // What is answered without signing in says nothing of what is permitted.
        add(Result::bad, "sign-in", sync::words_for(told.reply));
        return end();
    }
    using Method = config::Authorization::Method;
    const Method method = clinic_.authorization.method;
    if (method == Method::none) {
        add(Result::good, "sign-in",
            clinic_.certificate.empty() ? "none is asked for" : "by certificate in TLS");
    } else if (method == Method::bearer) {
        add(Result::good, "sign-in", "with the token in the settings");
    } else {
        add(Result::good, "sign-in",
            told.token_expires ? "got a token, good until " + to_text(*told.token_expires) : "got a token");
    }
    for (const access::Remark& remark : told.remarks)
        add(Result::note, "sign-in", remark.words);
    if (auto with_token = statement_in(told.reply)) statement_ = std::move(with_token);
    on_statement(told.reply);
}

void Preflight::on_statement(const sync::Reply& reply) {
    const auto& answer = std::get<HttpAnswer>(reply);
    if (const auto none = sync::no_server_for_us(answer))
        return add(Result::bad, "server", none->words), end();
    if (!statement_) {
        add(Result::bad, "server",
            answer.status == 200 ? "what it answers at /metadata cannot be read"
                                 : "it does not say what it can do: " + sync::words_for(reply));
        return end();
    }
    const CapabilityStatement& said = *statement_;
    if (!said.release && !said.fhir_version.empty() && !clinic_.release) {
        add(Result::bad, "server",
            "it speaks FHIR " + in_quotes(said.fhir_version) + "; this hub speaks 4.0, 4.3 and 5.0");
        return end();
    }
    release_ = clinic_.release.value_or(said.release.value_or(fhir::spec::Release::r4));
    std::string words = "FHIR " + std::string(fhir::spec::name_of(release_));
    if (clinic_.release) words += " as in the settings";
    if (!said.fhir_version.empty()) words += " (it says " + in_quotes(said.fhir_version) + ")";
    if (!said.software_name.empty()) words += ", " + in_quotes(said.software_name);
    add(Result::good, "server", words + "; " + in_words(sync::manner_for(said)));
    if (!said.speaks_json())
        add(Result::note, "server", "it does not say that it speaks JSON, which this hub does");
    phase_ = Phase::patients;
}

void Preflight::on_patient(const sync::Reply& reply) {
    const sync::PatientToFind& patient = patients_[next_patient_];
    const auto* type = statement_->type("Patient");
    const bool reads = statement_->types.empty() || (type != nullptr && type->can("read"));
    const sync::PatientAnswer answer = sync::read_patient_answer(patient, reply, reads);
    using Kind = sync::PatientAnswer::Kind;
    const std::string who = "'" + patient.person + "'";
    if (answer.kind == Kind::found) {
        add(Result::good, "patient", who + " is " + answer.reference);
    } else if (answer.kind == Kind::not_shown) {
        add(Result::note, "patient",
            "the server does not show whether " + answer.reference +
                " is there, so the settings are believed");
    } else {
        add(Result::bad, "patient", "nothing would be sent for " + who + ": " + answer.words);
    }
    if (patient_.empty()) patient_ = answer.reference;
    if (++next_patient_ < patients_.size()) return;
    look_at_permissions();
    begin_validating();
}

}  // namespace nightferry::door
