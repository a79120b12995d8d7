// What a phone meets that asks for the page: whoever is not let in gets a line of plain text and no more, and
// whoever sends the right code to POST /pair is let in.
#pragma once

#include <functional>

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/page/gate.hpp"

namespace nightferry::page {

class Entrance {
 public:
    // What a paired phone gets.
    using Inside = std::function<HttpAnswer(const HttpRequest&, const Device&)>;

    Entrance(Gate& gate, Clock& clock, Inside inside)
        : gate_(gate), clock_(clock), inside_(std::move(inside)) {}

    HttpAnswer answer(const HttpRequest& request);

 private:
    HttpAnswer pair(const HttpRequest& request);

    Gate& gate_;
    Clock& clock_;
    Inside inside_;
};

// A line of text that nobody keeps.
HttpAnswer plain_text(int status, std::string words);

}  // namespace nightferry::page
