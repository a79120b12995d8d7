#include "tests/peers/fault_proxy/wire.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

namespace nightferry::test {

namespace {

// Header lines that tell how the message was carried rather than what it says.
constexpr std::array<std::string_view, 4> about_the_carriage{"connection", "keep-alive", "transfer-encoding",
                                                             "content-length"};

bool same_name(std::string_view a, std::string_view b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char one, char other) {
        return std::tolower(static_cast<unsigned char>(one)) == other;
    });
}

std::string header_lines(const HttpAnswer& answer) {
    std::string lines = "HTTP/1.1 " + std::to_string(answer.status) + " -\r\n";
    for (const auto& [name, value] : answer.headers) {
        const bool carriage = std::any_of(about_the_carriage.begin(), about_the_carriage.end(),
                                          [&](std::string_view other) { return same_name(name, other); });
        if (!carriage) lines.append(name).append(": ").append(value).append("\r\n");
    }
    return lines;
}

std::string length_line(std::size_t length) {
    return "Content-Length: " + std::to_string(length) + "\r\n\r\n";
}

}  // namespace

std::string to_wire(const HttpAnswer& answer) {
    return header_lines(answer) + length_line(answer.body.size()) + answer.body;
}

std::string cut_short(const HttpAnswer& answer, Length length, std::uint32_t detail) {
    const std::size_t kept = answer.body.empty() ? 0 : detail % answer.body.size();
    const std::string part = answer.body.substr(0, kept);
    std::string wire = header_lines(answer);
    switch (length) {
        case Length::promised:
            return wire + length_line(std::max<std::size_t>(answer.body.size(), 1)) + part;
        case Length::none:
            return wire + "Connection: close\r\n\r\n" + part;
        case Length::chunked:
            break;
    }
    wire += "Transfer-Encoding: chunked\r\n\r\n";
    if (part.empty()) return wire;
    std::array<char, 32> size{};
    std::snprintf(size.data(), size.size(), "%zx\r\n", part.size());
    return wire + size.data() + part + "\r\n";
}

HttpAnswer gateway_answer(int status, std::uint32_t detail) {
    HttpAnswer answer{status, {{"Content-Type", "text/html"}}, {}};
    if (status == 503) answer.headers.emplace_back("Retry-After", "1");
    if (status == 429) answer.headers.emplace_back("Retry-After", detail % 2 == 0 ? "0" : "1");
    const std::string title =
        status == 200 ? "Welcome to our guest network" : "Error " + std::to_string(status);
    answer.body = "<!DOCTYPE html><html><head><title>" + title + "</title></head><body><h1>" + title +
                  "</h1></body></html>\n";
    return answer;
}

std::optional<HttpAnswer> own_answer(const Draw& draw, bool server_has_acted) {
    struct Own {
        Fault before;
        Fault after;
        int status;
    };
    constexpr std::array own{
        Own{Fault::http_500, Fault::http_500_after, 500}, Own{Fault::http_502, Fault::http_502_after, 502},
        Own{Fault::http_503, Fault::http_503_after, 503}, Own{Fault::http_429, Fault::http_429_after, 429},
        Own{Fault::html_200, Fault::html_200_after, 200},
    };
    for (const Own& one : own) {
        if (draw.fault == (server_has_acted ? one.after : one.before))
            return gateway_answer(one.status, draw.detail);
    }
    return std::nullopt;
}

}  // namespace nightferry::test
