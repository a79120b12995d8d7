// What an answer means for what was sent. Every reaction to a failure is decided here and nowhere else.
#pragma once

#include <chrono>
#include <optional>
#include <string>

#include "daemon/core/http.hpp"
#include "daemon/core/time.hpp"
#include "daemon/sync/ports.hpp"

namespace nightferry::sync {

enum class Fate {
    done,    // The clinic has it.
    retry,   // Not now; the same request later.
    look,    // What the clinic holds is unclear: look it up, then decide.
    refuse,  // Final for this content: split a bundle, set a single one aside.
    stop,    // Nothing will get through until a person acts.
};

// What a request was for; some statuses mean different things.
enum class Purpose { create, update, search, read };

// The fate of a status that came for the request as a whole or for one entry of a bundle.
// HTTP meanings: RFC 9110, RFC 6585, and https://hl7.org/fhir/R4/http.html.
Fate fate_of_status(int status, Purpose purpose);
Fate fate_of(const Reply& reply, Purpose purpose);

// Whether the server does not take this kind of request, whatever is in it.
bool means_not_offered(int status);

// Whether the server says that it is merely busy, and nothing about what was asked.
bool says_busy(const Reply& reply);

// Whether the clinic may have acted on the request although it was not confirmed.
bool may_have_acted(const Reply& reply);

// The wait a server asks for by Retry-After, as seconds or as an HTTP date (RFC 9110 section 10.2.3), at
// most an hour; nothing when absent or unreadable.
std::optional<std::chrono::microseconds> retry_after(const HttpAnswer& answer, Instant now);

// When the answer was made by the server's own clock (RFC 9110 section 6.6.1); nothing when absent or
// unreadable.
std::optional<Instant> date_of(const HttpAnswer& answer, Instant now);

// One line for people: what happened, with the clinic's own words where it gave any.
std::string words_for(const Reply& reply);
// The same of one entry of a bundle; a status of 0 stands for none.
std::string words_for(int status, const std::string& clinics_words);

}  // namespace nightferry::sync
