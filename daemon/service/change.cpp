#include "daemon/service/change.hpp"

namespace nightferry::service {

std::vector<std::string> what_needs_a_restart(const config::Settings& now, const config::Settings& next) {
    std::vector<std::string> all;
    const auto compare = [&all](const std::string& key, std::string_view before, std::string_view after) {
        if (before != after) all.push_back(key);
    };
    compare("hub.data", now.data.native(), next.data.native());
    compare("hub.socket", now.socket.native(), next.socket.native());
    compare("hub.log", word_for(now.log), word_for(next.log));
    return all;
}

}  // namespace nightferry::service
