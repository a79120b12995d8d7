#include "daemon/door/traffic.hpp"

namespace nightferry::door {

namespace {

std::string outcome_of(const sync::Reply& reply) {
    if (const auto* answer = std::get_if<HttpAnswer>(&reply))
        return std::to_string(answer->status / 100) + "xx";
    return std::string(word_for(std::get<sync::NoAnswer>(reply).reached));
}

}  // namespace

void Traffic::count(std::size_t body_bytes, const sync::Reply& reply) {
    ++requests[outcome_of(reply)];
    const auto* answer = std::get_if<HttpAnswer>(&reply);
    if (answer != nullptr) received_bytes += static_cast<std::int64_t>(answer->body.size());
    if (answer != nullptr || std::get<sync::NoAnswer>(reply).reached == sync::NoAnswer::Reached::perhaps)
        sent_bytes += static_cast<std::int64_t>(body_bytes);
}

}  // namespace nightferry::door
