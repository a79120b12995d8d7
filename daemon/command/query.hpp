// The query of a request to the local API.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "daemon/core/http.hpp"

namespace nightferry::command {

// "?person=juniper&from=2026-10-12"; parameters without a value are left out.
inline std::string query_of(const std::vector<std::pair<const char*, std::string>>& parameters) {
    std::string query;
    for (const auto& [name, value] : parameters) {
        if (!value.empty()) query += (query.empty() ? "?" : "&") + (name + ("=" + percent_encode(value)));
    }
    return query;
}

}  // namespace nightferry::command
