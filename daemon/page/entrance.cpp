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

HttpAnswer Entrance::answer(const HttpRequest& request) {
    if (!gate_.is_own(request)) return views_.outside(403, Outside::not_from_here);
    if (auto asset = views_.asset(request)) return std::move(*asset);
    if (path_of(request.target) == "/pair" && request.method == "POST") return pair(request);
    const auto device = gate_.who(request);
    if (gate_.failed()) return views_.outside(500, Outside::failed);
    return device ? views_.inside(request, *device) : views_.outside(401, Outside::not_paired);
}

HttpAnswer Entrance::pair(const HttpRequest& request) {
    const auto paired = gate_.pair(field_of(request.body, "code"), clock_.now());
    if (paired) {
        return {303,
                {{"Location", "/"},
                 {"Set-Cookie", paired->cookie},
                 {"Cache-Control", "no-store"},
                 {"X-Content-Type-Options", "nosniff"}},
                {}};
    }
    switch (paired.error().code) {
        case Errc::bad_input:
            return views_.outside(403, Outside::wrong_code);
        case Errc::locked:
            return views_.outside(429, Outside::locked);
        case Errc::disk_full:
            return views_.outside(507, Outside::no_room);
        default:
            return views_.outside(500, Outside::failed);
    }
}

}  // namespace nightferry::page
