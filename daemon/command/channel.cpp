#include "daemon/command/channel.hpp"

#include <chrono>

#include "daemon/logbook/opening.hpp"
#include "daemon/net/local_client.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::command {

namespace {

// The daemon does one thing at a time, and what is about the whole logbook takes it long on a small machine.
std::chrono::seconds patience_for(const HttpRequest& request) {
    return request.target.starts_with("/v1/logbook/") ? std::chrono::minutes{15} : std::chrono::minutes{1};
}

Errc code_of(int status) {
    switch (status) {
        case 400:
            return Errc::bad_input;
        case 404:
            return Errc::not_found;
        case 409:
        case 503:
            return Errc::locked;
        case 507:
            return Errc::disk_full;
        default:
            return Errc::storage;
    }
}

}  // namespace

Error error_in(const HttpAnswer& answer) {
    const auto document = fhir::json::read(answer.body);
    return {code_of(answer.status),
            std::string(document ? document->root().string_at("error") : std::string_view(answer.body))};
}

Result<HttpAnswer> Channel::call(const HttpRequest& request) const {
    auto answer = net::call_local(reach_.socket, request, patience_for(request));
    if (answer || answer.error().code != Errc::unreachable || settings_ != nullptr) return answer;
    return Error{Errc::setup, answer.error().detail + "; it starts again once the settings are corrected"};
}

Result<HttpAnswer> Channel::either(const HttpRequest& request) {
    if (alone_) return alone_->answer(request);
    auto answer = call(request);
    // Who may not even look into the data folder is told that no daemon answers.
    std::error_code unseen;
    const bool is_alone = !answer && answer.error().code == Errc::unreachable &&
                          std::filesystem::exists(logbook::file_in(settings_->data), unseen);
    if (!is_alone) return answer;
    auto opened = Alone::open(*settings_);
    if (!opened) return opened.error();
    alone_ = std::move(*opened);
    return alone_->answer(request);
}

Result<HttpAnswer> Channel::post(const std::string& target, std::string body, const std::string& media_type) {
    HttpRequest request{"POST", target, {}, std::move(body)};
    if (!media_type.empty()) request.headers.emplace_back("Content-Type", media_type);
    return call(request);
}

}  // namespace nightferry::command
