// How a model clinic words its answers, well or badly. Pure helpers of ModelClinic.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/http.hpp"
#include "tests/sim/dialect.hpp"
#include "tests/sim/misbehaviour.hpp"
#include "tests/sim/model_store.hpp"

namespace nightferry::sim {

// What became of one interaction.
struct Outcome {
    int status = 0;
    const StoredResource* resource = nullptr;  // What was written or found to be there.
    std::string code;                          // Of a refusal: an issue-type, and words for people.
    std::string words;
    std::string body;    // Of a search or a read inside a batch: what it found.
    bool fatal = false;  // The server broke down over it.

    bool succeeded() const { return status < 300; }
};

// One page of what a search found.
struct Page {
    std::string_view type;
    std::string_view query;  // Without an offset.
    const std::vector<const StoredResource*>& matches;
    std::size_t offset = 0;
};

HttpAnswer fhir_answer(int status, std::string body);
HttpAnswer refusal(int status, std::string_view code, std::string_view words,
                   std::string_view expression = {});

// To a create or an update on its own.
HttpAnswer single_answer(const Does& does, const Outcome& outcome, Misbehaviour misbehaviour);
// To a read on its own.
HttpAnswer read_answer(const Does& does, const StoredVersion& version);
HttpAnswer bundle_answer(const Does& does, bool is_transaction, const std::vector<Outcome>& outcomes,
                         Misbehaviour misbehaviour);
std::string searchset(const Does& does, const Page& page, Misbehaviour misbehaviour);

// What the "before" and "after" kinds answer. `turn` picks among the absurd.
HttpAnswer error_answer(Misbehaviour misbehaviour, std::string_view retry_date, std::uint64_t turn);
// What the kinds make of an answer that spoil it as a whole; the others leave it as it is.
HttpAnswer spoiled(HttpAnswer answer, Misbehaviour misbehaviour);

}  // namespace nightferry::sim
