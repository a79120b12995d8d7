// A hub as far as letting phones in needs one, at https://hub.home.arpa:8443.
#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/page/gate.hpp"
#include "tests/daemon/intake/hub.hpp"
#include "tests/daemon/page/fixed_secrets.hpp"

namespace nightferry::page {

class LetInTest : public testing::Test {
 protected:
    LetInTest() { gate_.open_at({"hub.home.arpa", "192.168.1.10", "fd00::10", "*.ferry.example"}, 8443); }

    std::string code(const std::string& carer = "tove", const std::string& name = "Tove's phone") {
        return pairing_.invite(carer, name, hub_.clock.now()).value().letters;
    }
    // What a phone of this carer's sends as its cookie from now on.
    std::string paired_cookie(const std::string& carer = "tove") {
        const auto paired = gate_.pair(code(carer), hub_.clock.now());
        EXPECT_TRUE(paired.has_value());
        return paired->cookie.substr(0, paired->cookie.find(';'));
    }
    static HttpRequest get(const std::string& cookie = {}, const std::string& host = "hub.home.arpa:8443") {
        HttpRequest request{"GET", "/", {{"Host", host}}, {}};
        if (!cookie.empty()) request.headers.emplace_back("Cookie", cookie);
        return request;
    }
    // As a browser sends a form of the page.
    static HttpRequest post(const std::string& target, const std::string& body = {}) {
        return {"POST",
                target,
                {{"Host", "hub.home.arpa:8443"},
                 {"Origin", "https://hub.home.arpa:8443"},
                 {"Sec-Fetch-Site", "same-origin"},
                 {"Content-Type", "application/x-www-form-urlencoded"}},
                body};
    }
    static HttpRequest with(HttpRequest request, const std::string& name, const std::string& value) {
        std::erase_if(request.headers, [&](const auto& one) { return one.first == name; });
        request.headers.emplace_back(name, value);
        return request;
    }
    static HttpRequest without(HttpRequest request, const std::string& name) {
        std::erase_if(request.headers, [&](const auto& one) { return one.first == name; });
        return request;
    }
    // The carer whose phone asks; empty: nobody's.
    std::string who(const HttpRequest& request) {
        const auto device = gate_.who(request);
        return device ? device->carer : "";
    }

    intake::Hub hub_;
    test::FixedSecrets secrets_;
    logbook::DeviceShelf shelf_{*hub_.db};
    Pairing pairing_{secrets_};
    Gate gate_{{hub_.household, shelf_, pairing_, secrets_, hub_.clock, hub_.log}};
};

}  // namespace nightferry::page
