#include "fhir/exchange/location.hpp"

#include <algorithm>
#include <vector>

#include "fhir/exchange/etag.hpp"
#include "fhir/exchange/percent.hpp"
#include "fhir/json/ascii.hpp"

namespace nightferry::fhir::exchange {

namespace {

constexpr std::size_t address_bytes_max = 4'096;

// The path of an address: without scheme and host, without query, fragment and slashes at the end.
std::string_view path_in(std::string_view address) {
    address = address.substr(0, address.find_first_of("?#"));
    if (const auto scheme = address.find("://"); scheme != std::string_view::npos) {
        address.remove_prefix(scheme + 3);
        const auto slash = address.find('/');
        address = slash == std::string_view::npos ? std::string_view() : address.substr(slash);
    }
    while (address.ends_with('/'))
        address.remove_suffix(1);
    return address;
}

std::vector<std::string> segments_of(std::string_view path) {
    std::vector<std::string> segments;
    while (!path.empty()) {
        const auto slash = path.find('/');
        segments.push_back(percent_decoded(path.substr(0, slash)));
        path = slash == std::string_view::npos ? std::string_view() : path.substr(slash + 1);
    }
    return segments;
}

}  // namespace

bool is_type_name(std::string_view text) {
    return !text.empty() && text.size() <= 64 && text[0] >= 'A' && text[0] <= 'Z' &&
           std::all_of(text.begin(), text.end(), ascii::is_letter);
}

bool is_id(std::string_view text) {
    const bool dots_only = text.find_first_not_of('.') == std::string_view::npos;
    return !dots_only && text.size() <= 64 && std::all_of(text.begin(), text.end(), [](char c) {
        // The underscore is not FHIR's, but seen on servers.
        return ascii::is_letter_or_digit(c) || c == '-' || c == '.' || c == '_';
    });
}

std::optional<Location> parse_location(std::string_view text) {
    if (text.size() > address_bytes_max) return std::nullopt;
    const auto blank = [](char c) { return c == ' ' || c == '\t'; };
    while (!text.empty() && blank(text.front()))
        text.remove_prefix(1);
    while (!text.empty() && blank(text.back()))
        text.remove_suffix(1);
    std::vector<std::string> parts = segments_of(path_in(text));
    std::string version;
    const auto history = std::find(parts.begin(), parts.end(), "_history");
    if (history != parts.end()) {
        if (parts.end() - history > 2) return std::nullopt;
        if (parts.end() - history == 2 && fits_in_etag(parts.back())) version = parts.back();
        parts.erase(history, parts.end());
    }
    if (parts.size() < 2) return std::nullopt;
    std::string& id = parts.back();
    std::string& type = parts[parts.size() - 2];
    if (!is_id(id) || !is_type_name(type)) return std::nullopt;
    return Location{std::move(type), std::move(id), std::move(version)};
}

}  // namespace nightferry::fhir::exchange
