// What the settings file says, typed. config/nightferry.sample.toml shows every key with its meaning.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/care/plan.hpp"
#include "daemon/core/web_address.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/entry/sharing_policy.hpp"
#include "daemon/texts/speaker.hpp"
#include "fhir/spec/release.hpp"

namespace nightferry::config {

// A file with a secret: a path, or "credential:NAME" for one that the service manager hands over.
using SecretFile = std::filesystem::path;

// How the hub shows a clinic who it is, beyond a certificate in TLS.
struct Authorization {
    // By the names that RFC 7591 and RFC 8705 register, where they do.
    enum class Method { none, bearer, private_key_jwt, tls_client_auth };
    Method method = Method::none;
    SecretFile token;  // Of method bearer.
    std::string client_id;
    SecretFile key;  // PEM; of method private_key_jwt.
    SecretFile next_key;
    std::string key_id;  // Empty: computed from the key (RFC 7638).
    std::string next_key_id;
    std::string algorithm;       // RFC 7518 section 3.1; empty: what suits key and server.
    std::string token_endpoint;  // As it was written; empty: the server says where it is.
    std::string scope;           // Empty: what the hub needs.
};

struct ProxySettings {
    std::string host;
    std::uint16_t port = 3128;
    SecretFile credentials;  // "user:password"; empty: none.
};

// A patient as the clinic knows it: by a literal reference, or by an identifier that is searched for.
struct PatientIdentifier {
    std::string system;
    std::string value;
};
using PatientKey = std::variant<std::string, PatientIdentifier>;

struct Clinic {
    std::string name;
    WebAddress
        base;  // The FHIR base address, without a slash at its end. Plain HTTP only to this machine itself.
    std::optional<std::filesystem::path> trust;  // PEM file of the only CAs to trust; absent: the system's.
    std::vector<std::string> pins;               // SHA-256 of public keys, in base64 (RFC 7469 section 2.4).
    SecretFile certificate;                      // PEM of this hub's own, or empty.
    SecretFile certificate_key;
    std::optional<ProxySettings> proxy;
    Authorization authorization;
    std::chrono::minutes window_opens{60};  // Local time of day.
    std::chrono::minutes window_closes{300};
    bool orders = false;                         // Read what it has ordered, too.
    bool as_it_happens = false;                  // Passes also soon after something was recorded.
    std::optional<fhir::spec::Release> release;  // Absent: what its server says.
    std::map<std::string, PatientKey> patients;  // By person; a person not listed is not shared with it.
    entry::SharingPolicy sharing;                // What of them it may have.
    std::map<std::string, std::string> carers;   // By carer, a literal reference.
    bool contains_carers = false;                // Those without a reference, in what names them.
    std::string device;                          // Literal reference, or empty.
};

// In which form the hub writes its log. `automatic`: to the journal where standard error leads there, else
// text.
enum class LogForm { automatic, text, json, journal };
std::string_view word_for(LogForm form);

// Where programs that watch over services may read figures, beside the local socket.
struct MetricsListener {
    std::string address;  // IPv4 or IPv6.
    std::uint16_t port = 0;
};

// Where the recording page is served to carers' phones in the home network, over TLS.
struct PageListener {
    std::string address;  // IPv4 or IPv6; 0.0.0.0 and ::, every one of this machine.
    std::uint16_t port = 0;
    SecretFile certificate;  // PEM, with those between it and its CA.
    SecretFile key;
    texts::Language language = texts::Language::english;
};

struct Settings {
    entry::Household household;
    std::string identifier_system;
    std::filesystem::path data;  // Folder of the logbook.
    std::filesystem::path inbox;
    std::filesystem::path socket;
    std::vector<Clinic> clinics;
    std::vector<care::Plan> plans;  // At most one for each person.
    LogForm log = LogForm::automatic;
    std::optional<MetricsListener> metrics;
    std::optional<PageListener> page;

    // The names of the clinics that may have entries of a person; what of them, their policies say.
    std::vector<std::string> clinics_for(const std::string& person) const {
        std::vector<std::string> names;
        for (const Clinic& clinic : clinics) {
            if (clinic.sharing.terms().persons.contains(person)) names.push_back(clinic.name);
        }
        return names;
    }

    // Those of them that are asked for what they have ordered.
    std::vector<std::string> clinics_asked_for_orders(const std::string& person) const {
        std::vector<std::string> names;
        for (const Clinic& clinic : clinics) {
            if (clinic.orders && clinic.patients.contains(person)) names.push_back(clinic.name);
        }
        return names;
    }
};

}  // namespace nightferry::config
