#include "daemon/page/entrance.hpp"

#include <algorithm>

namespace nightferry::page {

namespace {

// The value of a field of a form (application/x-www-form-urlencoded).
std::string field_of(std::string form, std::string_view name) {
    std::ranges::replace(form, '+', ' ');
    return query_value("?" + form, name).value_or("");
}

}  // namespace

HttpAnswer plain_text(int status, std::string words) {
    return {status,
            {{"Content-Type", "text/plain; charset=utf-8"},
             {"Cache-Control", "no-store"},
             {"X-Content-Type-Options", "nosniff"}},
            std::move(words) + "\n"};
}

HttpAnswer Entrance::answer(const HttpRequest& request) {
    if (!gate_.is_own(request)) return plain_text(403, "not from here");
    if (path_of(request.target) == "/pair" && request.method == "POST") return pair(request);
    const auto device = gate_.who(request);
    if (gate_.failed()) return plain_text(500, "the hub has to start again");
    return device ? inside_(request, *device) : plain_text(401, "this device is not paired");
}

HttpAnswer Entrance::pair(const HttpRequest& request) {
    const auto paired = gate_.pair(field_of(request.body, "code"), clock_.now());
    if (paired) {
        HttpAnswer answer = plain_text(303, "paired");
        answer.headers.emplace_back("Location", "/");
        answer.headers.emplace_back("Set-Cookie", paired->cookie);
        return answer;
    }
    const Error& error = paired.error();
    switch (error.code) {
        case Errc::bad_input:
            return plain_text(403, error.detail);
        case Errc::locked:
            return plain_text(429, error.detail);
        case Errc::disk_full:
            return plain_text(507, "there is no room on the hub's disk");
        default:
            return plain_text(500, "the hub has to start again");
    }
}

}  // namespace nightferry::page
