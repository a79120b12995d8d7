#include "daemon/core/http.hpp"

#include <algorithm>
#include <cctype>

namespace nightferry {

namespace {

bool same_name(std::string_view a, std::string_view b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                      [](unsigned char x, unsigned char y) { return std::tolower(x) == std::tolower(y); });
}

int hex_digit(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return -1;
}

}  // namespace

std::string_view header(const HttpHeaders& headers, std::string_view name) {
    for (const auto& [key, value] : headers) {
        if (same_name(key, name)) return value;
    }
    return {};
}

std::vector<std::string_view> every_header(const HttpHeaders& headers, std::string_view name) {
    std::vector<std::string_view> values;
    for (const auto& [key, value] : headers) {
        if (same_name(key, name)) values.push_back(value);
    }
    return values;
}

std::string percent_encode(std::string_view text) {
    constexpr char digits[] = "0123456789ABCDEF";
    std::string encoded;
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (std::isalnum(byte) != 0 || c == '-' || c == '.' || c == '_' || c == '~') {
            encoded += c;
        } else {
            encoded += '%';
            encoded += digits[byte >> 4];
            encoded += digits[byte & 15];
        }
    }
    return encoded;
}

std::string percent_decode(std::string_view text) {
    std::string decoded;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const int high = text[i] == '%' && i + 2 < text.size() ? hex_digit(text[i + 1]) : -1;
        const int low = high >= 0 ? hex_digit(text[i + 2]) : -1;
        if (low >= 0) {
            decoded += static_cast<char>(high * 16 + low);
            i += 2;
        } else {
            decoded += text[i];
        }
    }
    return decoded;
}

std::string_view path_of(std::string_view target) {
    return target.substr(0, target.find('?'));
}

std::optional<std::string> query_value(std::string_view target, std::string_view name) {
    const auto mark = target.find('?');
    if (mark == std::string_view::npos) return std::nullopt;
    std::string_view query = target.substr(mark + 1);
    while (!query.empty()) {
        const std::string_view pair = query.substr(0, query.find('&'));
        query.remove_prefix(std::min(pair.size() + 1, query.size()));
        const auto equals = pair.find('=');
        if (equals != std::string_view::npos && percent_decode(pair.substr(0, equals)) == name) {
            return percent_decode(pair.substr(equals + 1));
        }
    }
    return std::nullopt;
}

}  // namespace nightferry
