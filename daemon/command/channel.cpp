#include "daemon/command/channel.hpp"

#include <chrono>

#include "daemon/logbook/opening.hpp"
#include "daemon/net/local_client.hpp"

namespace nightferry::command {

Result<HttpAnswer> Channel::either(const HttpRequest& request) {
    if (alone_) return alone_->answer(request);
    auto answer = net::call_local(settings_.socket, request);
    // Who may not even look into the data folder is told that no daemon answers.
    std::error_code unseen;
    const bool is_alone = !answer && answer.error().code == Errc::unreachable &&
                          std::filesystem::exists(logbook::file_in(settings_.data), unseen);
    if (!is_alone) return answer;
    auto opened = Alone::open(settings_);
    if (!opened) return opened.error();
    alone_ = std::move(*opened);
    return alone_->answer(request);
}

Result<HttpAnswer> Channel::post(const std::string& target, std::string body, const std::string& media_type) {
    HttpRequest request{"POST", target, {}, std::move(body)};
    if (!media_type.empty()) request.headers.emplace_back("Content-Type", media_type);
    return net::call_local(settings_.socket, request);
}

}  // namespace nightferry::command
