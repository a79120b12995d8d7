#include "daemon/access/authorized_clinic.hpp"

#include "daemon/core/overloaded.hpp"

namespace nightferry::access {

AuthorizedClinic::AuthorizedClinic(std::unique_ptr<sync::ClinicPort> clinic, TokenKeeper keeper,
                                   TokenServer token_server, const Clock& clock, Alarm& at_once)
    : clinic_(std::move(clinic)),
      keeper_(std::move(keeper)),
      open_(std::move(token_server)),
      clock_(clock),
      at_once_(at_once) {}

void AuthorizedClinic::send(HttpRequest request, std::function<void(sync::Reply)> done) {
    pending_ = Pending{std::move(request), std::move(done)};
    go_on();
}

void AuthorizedClinic::go_on() {
    std::visit(Overloaded{
                   [this](const TokenKeeper::Ready& ready) { send_with(ready.authorization); },
                   [this](const TokenKeeper::Discover&) {
                       clinic_->send({"GET", smart_configuration_path, {{"Accept", "application/json"}}, {}},
                                     [this](const sync::Reply& reply) {
                                         keeper_.discovered(reply);
                                         go_on();
                                     });
                   },
                   [this](const TokenKeeper::Ask& asked) { ask(asked); },
                   // Never from inside send().
                   [this](const sync::NoAnswer& none) {
                       at_once_.after(std::chrono::microseconds{0}, [this, none] { finish(none); });
                   },
               },
               keeper_.next(clock_.now()));
}

void AuthorizedClinic::send_with(const std::string& authorization) {
    HttpRequest request = pending_->request;
    if (!authorization.empty()) request.headers.emplace_back("Authorization", authorization);
    clinic_->send(std::move(request), [this](sync::Reply reply) {
        const auto* answer = std::get_if<HttpAnswer>(&reply);
        const bool is_refused = answer != nullptr && answer->status == 401;
        if (is_refused && !pending_->is_second_token && keeper_.refused()) {
            pending_->is_second_token = true;
            return go_on();
        }
        finish(std::move(reply));
    });
}

void AuthorizedClinic::ask(const TokenKeeper::Ask& asked) {
    const auto address = WebAddress::parse(asked.endpoint);
    if (!token_server_ || !token_server_address_->is_same_origin(*address)) {
        auto opened = open_(*address);
        if (!opened) {
            const sync::NoAnswer none{sync::NoAnswer::Reached::untrusted, opened.error().detail};
            at_once_.after(std::chrono::microseconds{0}, [this, none] { finish(none); });
            return;
        }
        token_server_ = std::move(*opened);
        token_server_address_ = address;
    }
    token_server_->send(asked.request, [this](const sync::Reply& reply) {
        keeper_.answered(reply, clock_.now());
        // It is rarely asked.
        token_server_->rest();
        go_on();
    });
}

void AuthorizedClinic::finish(sync::Reply reply) {
    const auto done = std::move(pending_->done);
    pending_.reset();
    done(std::move(reply));
}

void AuthorizedClinic::rest() {
    clinic_->rest();
    if (token_server_) token_server_->rest();
}

}  // namespace nightferry::access
