// The part of the local API about the phones that may use the page. It is on the local socket only: whoever
// may record there may let a phone in.
//
//   POST   /v1/devices        a code that lets one phone in (?carer=KEY &name=WHAT PEOPLE CALL IT):
//                             {"code": "CDFG-HJKM", "good_until": "…", "addresses": ["https://…"]}
//   GET    /v1/devices        every phone that was ever let in: {"devices": […]}
//   DELETE /v1/devices/{id}   it is not let in any more (?by=, the key of the carer who decided it)
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/logbook/device_shelf.hpp"
#include "daemon/page/pairing.hpp"

namespace nightferry::page {

class DeviceApi {
 public:
    struct Invitation {
        Pairing::Code code;
        std::vector<std::string> addresses;
    };
    struct Ports {
        // An error says why no phone can be let in now.
        std::function<Result<Invitation>(const std::string& carer, const std::string& name)> invite;
        std::function<void(const std::string& id)> on_revoked;
    };

    DeviceApi(const entry::Household& household, logbook::DeviceShelf& shelf, Clock& clock, Ports ports)
        : household_(household), shelf_(shelf), clock_(clock), ports_(std::move(ports)) {}

    // Whether the request is meant for this part.
    static bool is_for(std::string_view path);

    // An error means that the logbook failed.
    Result<HttpAnswer> answer(const HttpRequest& request);

 private:
    HttpAnswer invite(const HttpRequest& request);
    Result<HttpAnswer> list();
    Result<HttpAnswer> revoke(const std::string& id, const HttpRequest& request);

    const entry::Household& household_;
    logbook::DeviceShelf& shelf_;
    Clock& clock_;
    Ports ports_;
};

}  // namespace nightferry::page
