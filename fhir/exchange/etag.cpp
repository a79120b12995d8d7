#include "fhir/exchange/etag.hpp"

#include <algorithm>
#include <optional>

namespace nightferry::fhir::exchange {

namespace {

constexpr std::size_t version_bytes_max = 256;

std::string_view without_blanks_before(std::string_view text) {
    const auto start = text.find_first_not_of(" \t");
    return start == std::string_view::npos ? std::string_view() : text.substr(start);
}

// Takes one tag off the front; nothing when what stands there is none.
std::optional<std::string_view> take_tag(std::string_view& text) {
    if (text.starts_with("W/") || text.starts_with("w/")) text = without_blanks_before(text.substr(2));
    std::string_view tag;
    if (text.starts_with('"')) {
        const auto end = text.find('"', 1);
        tag = text.substr(1, end == std::string_view::npos ? end : end - 1);
        text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
    } else {
        const auto end = text.find_first_of(" \t,");
        tag = text.substr(0, end);
        text = end == std::string_view::npos ? std::string_view() : text.substr(end);
    }
    if (!fits_in_etag(tag)) return std::nullopt;
    return tag;
}

}  // namespace

bool fits_in_etag(std::string_view version) {
    return !version.empty() && version.size() <= version_bytes_max &&
           std::all_of(version.begin(), version.end(), [](char c) {
               const auto byte = static_cast<unsigned char>(c);
               return byte > 0x20 && byte != '"' && byte != 0x7F;
           });
}

std::string version_in_etag(std::string_view etag) {
    std::string_view found;
    etag = without_blanks_before(etag);
    if (etag == "*") return {};
    while (!etag.empty()) {
        const auto tag = take_tag(etag);
        if (!tag || (!found.empty() && *tag != found)) return {};
        found = *tag;
        etag = without_blanks_before(etag);
        if (etag.empty()) break;
        if (!etag.starts_with(',')) return {};
        etag = without_blanks_before(etag.substr(1));
    }
    return std::string(found);
}

std::string etag_for(std::string_view version) {
    return "W/\"" + std::string(version) + "\"";
}

}  // namespace nightferry::fhir::exchange
