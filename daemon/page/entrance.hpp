// What a phone meets that asks for the page: whoever is not let in gets the form for the code and no more,
// and whoever sends the right one to POST /pair is let in.
#pragma once

#include <functional>
#include <optional>

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/page/gate.hpp"

namespace nightferry::page {

// Why somebody is not inside.
enum class Outside {
    not_paired,
    wrong_code,
    locked,         // No code is taken for a while.
    not_from_here,  // Another site had it sent, or it came under another name.
    no_room,        // On the hub's disk.
    failed,         // The hub has to start again.
};

class Entrance {
 public:
    // What is shown to whom.
    struct Views {
        std::function<HttpAnswer(const HttpRequest&, const Device&)> inside;
        std::function<HttpAnswer(int status, Outside why)> outside;
        // What every page is made with, which is no secret; nothing for other requests.
        std::function<std::optional<HttpAnswer>(const HttpRequest&)> asset;
    };

    Entrance(Gate& gate, Clock& clock, Views views) : gate_(gate), clock_(clock), views_(std::move(views)) {}

    HttpAnswer answer(const HttpRequest& request);

 private:
    HttpAnswer pair(const HttpRequest& request);

    Gate& gate_;
    Clock& clock_;
    Views views_;
};

}  // namespace nightferry::page
