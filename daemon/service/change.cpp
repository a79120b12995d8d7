#include "daemon/service/change.hpp"

namespace nightferry::service {

std::vector<std::string> what_needs_a_restart(const config::Settings& now, const config::Settings& next) {
    std::vector<std::string> all;
    const auto compare = [&all](const std::string& key, const std::filesystem::path& before,
                                const std::filesystem::path& after) {
        if (before == after) return;
        all.push_back(key + ": " + after.string() + " instead of " + before.string() +
                      " needs a restart; it stays as it was until then");
    };
    compare("hub.data", now.data, next.data);
    compare("hub.socket", now.socket, next.socket);
    return all;
}

}  // namespace nightferry::service
