#include "fhir/exchange/media_type.hpp"

#include "fhir/json/ascii.hpp"

namespace nightferry::fhir::exchange {

namespace {

using Format = MediaType::Format;

constexpr std::size_t header_bytes_max = 1'024;

std::string_view trimmed(std::string_view text) {
    const auto start = text.find_first_not_of(" \t");
    if (start == std::string_view::npos) return {};
    return text.substr(start, text.find_last_not_of(" \t") - start + 1);
}

// Where the text goes on behind the next separator that stands outside quotes.
std::size_t find_outside_quotes(std::string_view text, std::string_view separators) {
    bool quoted = false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (quoted && text[i] == '\\') {
            ++i;
        } else if (text[i] == '"') {
            quoted = !quoted;
        } else if (!quoted && separators.find(text[i]) != std::string_view::npos) {
            return i;
        }
    }
    return std::string_view::npos;
}

std::string without_quotes(std::string_view value) {
    if (!value.starts_with('"')) return std::string(value);
    std::string result;
    for (std::size_t i = 1; i < value.size() && value[i] != '"'; ++i) {
        if (value[i] == '\\' && i + 1 < value.size()) ++i;
        result += value[i];
    }
    return result;
}

Format format_of(std::string_view name) {
    if (name == "application/fhir+json" || name == "application/json+fhir") return Format::fhir_json;
    if (name == "application/fhir+xml" || name == "application/xml+fhir") return Format::fhir_xml;
    if (name == "text/html" || name == "application/xhtml+xml") return Format::html;
    if (name == "application/json" || name == "text/json" || name.ends_with("+json")) return Format::json;
    if (name == "application/xml" || name == "text/xml" || name.ends_with("+xml")) return Format::xml;
    if (name.starts_with("text/")) return Format::text;
    return name.find('/') == std::string_view::npos ? Format::none : Format::other;
}

}  // namespace

std::string fhir_json(spec::Release release) {
    // The parameter is the publication and major version only: 4.0, not 4.0.1.
    const std::string_view version = spec::version_of(release);
    return "application/fhir+json; fhirVersion=" + std::string(version.substr(0, version.rfind('.')));
}

bool MediaType::may_be_fhir_json() const {
    return format == Format::fhir_json || format == Format::json || format == Format::none;
}

MediaType read_media_type(std::string_view header) {
    header = header.substr(0, header_bytes_max);
    header = header.substr(0, find_outside_quotes(header, ","));
    MediaType type;
    auto end = find_outside_quotes(header, ";");
    type.name = ascii::lower(trimmed(header.substr(0, end)));
    type.format = format_of(type.name);
    while (end != std::string_view::npos) {
        header.remove_prefix(end + 1);
        end = find_outside_quotes(header, ";");
        const std::string_view parameter = header.substr(0, end);
        const auto equals = parameter.find('=');
        if (equals == std::string_view::npos) continue;
        const std::string name = ascii::lower(trimmed(parameter.substr(0, equals)));
        std::string value = without_quotes(trimmed(parameter.substr(equals + 1)));
        if (name == "charset") type.charset = ascii::lower(value);
        if (name == "fhirversion") type.fhir_version = std::move(value);
    }
    type.release = spec::release_of_version(type.fhir_version);
    return type;
}

}  // namespace nightferry::fhir::exchange
