// What can go wrong with one request at a clinic, or on the way through its gateways.
#pragma once

#include <span>
#include <string_view>

namespace nightferry::sim {

enum class Misbehaviour {
    none,

    // Nothing is done, and the answer is an error, or another's.
    before_400,
    before_401,
    before_403,
    before_404,
    before_408,
    before_409,
    before_412,          // Although no condition failed.
    before_429_seconds,  // Retry-After: 7
    before_429_date,     // Retry-After as an HTTP date: ModelClinic::set_retry_date().
    before_429_absurd,   // Retry-After that is no time at all, or a million years.
    before_429_bare,     // No Retry-After.
    before_500,
    before_502_html,
    before_503,
    before_503_seconds,
    before_504,
    before_200_html,  // A page of somebody on the way.

    // Everything is done, and yet the answer is an error.
    after_408,
    after_409,
    after_500,
    after_502_html,
    after_503,
    after_504,

    // Everything is done, and the answer is wrong. What an answer does not have cannot be wrong in it.
    empty_body,
    truncated,
    html_200,
    outcome_200,
    fewer_entries,  // The last one is missing.
    more_entries,   // The last one comes twice.
    other_order,    // Back to front.
    other_type,     // The first location names another type.
    other_id,       // The first location names another resource.
    no_statuses,
    garbage_statuses,
    no_locations,
    other_kind,  // A transaction is answered as a batch, and the reverse.
    accepted_202,
    stale_search,  // A search finds nothing; other requests are served well.
};

// All but `none`, in order.
std::span<const Misbehaviour> misbehaviours();
std::string_view name_of(Misbehaviour misbehaviour);
// Whether the request is carried out.
bool carries_out(Misbehaviour misbehaviour);

}  // namespace nightferry::sim
