// Whatever a server answers to a transaction or a search is read or refused, and what was read of it holds
// together: nothing without a type and an id is a place, no more is found than there is.
#include <cstdint>
#include <string_view>

#include "fhir/exchange/bundle_answer.hpp"
#include "fhir/exchange/paging.hpp"
#include "fhir/exchange/search.hpp"
#include "tests/fuzz/require.hpp"

namespace {

using namespace nightferry::fhir;
using nightferry::test::require;

void check_place(const exchange::Location& location) {
    require(!location.type.empty() && !location.id.empty(), "a place has a type and an id");
    const auto again = exchange::parse_location(location.reference());
    require(again && again->type == location.type && again->id == location.id, "a place can be read back");
}

void check_answer(const exchange::BundleAnswer& answer) {
    std::vector<exchange::Asked> asked;
    for (const exchange::EntryAnswer& entry : answer.entries) {
        require(entry.status >= 0 && entry.status <= 999, "a status has three digits");
        require(entry.issues.size() <= exchange::issues_max, "issues are bounded");
        if (entry.location) check_place(*entry.location);
        asked.push_back({"POST", entry.location ? entry.location->type : std::string(), {}});
    }
    require(!exchange::find_mismatch(answer.kind, asked, answer), "an answer fits what it says itself");
    asked.push_back({"POST", "Observation", {}});
    const auto mismatch = exchange::find_mismatch(answer.kind, asked, answer);
    require(mismatch && mismatch->what == exchange::Mismatch::What::count, "a missing answer is noticed");
}

void check_search(const exchange::SearchAnswer& answer, std::size_t size) {
    require(answer.matches.size() <= size, "no more is found than there is");
    for (const exchange::Found& found : answer.matches) {
        require(!found.location.id.empty(), "a match has an id");
        require(found.resource->string_at("id") == found.location.id, "a match is where its document says");
    }
    constexpr std::string_view base = "https://clinic.example/fhir";
    const auto target = exchange::target_within(base, "/Patient?identifier=a", answer.next);
    require(!target || target->empty() || target->front() == '/' || target->front() == '?',
            "a page is asked for within the base");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view text(reinterpret_cast<const char*>(data), size);
    if (const auto answer = exchange::read_bundle_answer(text)) check_answer(*answer);
    if (const auto answer = exchange::read_search_answer(text)) check_search(*answer, size);
    return 0;
}
