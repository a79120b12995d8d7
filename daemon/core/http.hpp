// HTTP messages as plain data, so that those who decide need not know sockets.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace nightferry {

using HttpHeaders = std::vector<std::pair<std::string, std::string>>;

// The first header of that name (names compare without case), or empty.
std::string_view header(const HttpHeaders& headers, std::string_view name);

// All headers of that name, in their order.
std::vector<std::string_view> every_header(const HttpHeaders& headers, std::string_view name);

struct HttpRequest {
    std::string method;
    std::string target;  // Path and query; the clinic client puts the endpoint's base path before it.
    HttpHeaders headers;
    std::string body;
};

struct HttpAnswer {
    int status = 0;
    HttpHeaders headers;
    std::string body;
};

// Percent-encodes all but RFC 3986 unreserved characters.
std::string percent_encode(std::string_view text);
// Undoes it; a broken escape stays as it is.
std::string percent_decode(std::string_view text);

// The value of a query parameter in a request target, decoded; nothing when absent.
std::optional<std::string> query_value(std::string_view target, std::string_view name);
// A request target without its query.
std::string_view path_of(std::string_view target);

}  // namespace nightferry
