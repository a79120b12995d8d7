#include "daemon/page/entrance.hpp"

#include "daemon/page/typed.hpp"

namespace nightferry::page {

HttpAnswer Entrance::answer(const HttpRequest& request) {
    if (!gate_.is_own(request)) return views_.outside(403, Outside::not_from_here);
    if (auto asset = views_.asset(request)) return std::move(*asset);
    if (path_of(request.target) == "/pair" && request.method == "POST") return pair(request);
    const auto device = gate_.who(request);
    if (gate_.failed()) return views_.outside(500, Outside::failed);
    return device ? views_.inside(request, *device) : views_.outside(401, Outside::not_paired);
}

HttpAnswer Entrance::pair(const HttpRequest& request) {
    // What is no form has no code, and costs a try like a wrong one.
    const std::string code = Typed::read(request.body).value_or(Typed()).value("code");
    const auto paired = gate_.pair(code, clock_.now());
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
