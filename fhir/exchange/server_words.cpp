#include <algorithm>

#include "fhir/exchange/html_words.hpp"
#include "fhir/exchange/one_line.hpp"
#include "fhir/exchange/outcome.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::fhir::exchange {

namespace {

// An error body that is larger is not taken apart; the start of its text has to do.
constexpr json::Limits limits{4 * 1024 * 1024, 64, 200'000, 1 << 20};

// Compressed or other bytes that are no text: most text is free of control characters.
bool is_binary(std::string_view body) {
    constexpr std::size_t sample_bytes = 512;
    const std::string_view sample = body.substr(0, sample_bytes);
    const auto controls = std::count_if(sample.begin(), sample.end(), [](char c) {
        const auto byte = static_cast<unsigned char>(c);
        return byte == 0x7F || (byte < 0x20 && c != '\t' && c != '\r' && c != '\n');
    });
    const bool gzip = body.starts_with("\x1F\x8B");
    return gzip || sample.find('\0') != std::string_view::npos ||
           static_cast<std::size_t>(controls) * 10 > sample.size();
}

// RFC 9457 section 3.1 (title, detail), RFC 6749 section 5.2 (error, error_description), and what web
// frameworks answer (error, message; from memory).
std::string json_words(const json::Value& root) {
    std::string words;
    for (const char* name : {"title", "error", "detail", "error_description", "message"}) {
        const std::string_view text = root.string_at(name);
        if (text.empty()) continue;
        if (!words.empty()) words += ": ";
        words += text;
    }
    return words;
}

// The value of the next `name` element: <diagnostics value="…"/>.
void add_values(std::string& words, std::string_view xml, const std::string& name) {
    constexpr std::string_view attribute = "value=\"";
    constexpr std::size_t tag_bytes_max = 4'096;
    for (auto at = xml.find(name); at != std::string_view::npos; at = xml.find(name)) {
        xml.remove_prefix(at + name.size());
        const std::string_view tag = xml.substr(0, std::min(xml.find('>'), tag_bytes_max));
        const auto start = tag.find(attribute);
        if (start == std::string_view::npos) continue;
        const std::string_view value = tag.substr(start + attribute.size());
        if (!words.empty()) words += "; ";
        words += without_entities(value.substr(0, value.find('"')));
    }
}

std::string markup_words(std::string_view body) {
    const std::string_view start = body.substr(0, markup_bytes_max);
    std::string words;
    if (start.find("<OperationOutcome") != std::string_view::npos) {
        add_values(words, start, "<text ");
        if (words.empty()) add_values(words, start, "<diagnostics ");
    }
    return words.empty() ? html_words(start) : words;
}

}  // namespace

std::string server_words(std::string_view body, std::size_t limit) {
    if (body.starts_with("\xEF\xBB\xBF")) body.remove_prefix(3);
    body.remove_prefix(std::min(body.find_first_not_of(" \t\r\n"), body.size()));
    if (body.empty() || is_binary(body)) return {};
    if (body.starts_with('<')) return one_line(markup_words(body), limit);
    if (const auto document = json::read(body, limits)) {
        std::string words = outcome_words(document->root(), limit);
        if (words.empty()) words = one_line(json_words(document->root()), limit);
        if (!words.empty()) return words;
    }
    return one_line(body, limit);
}

}  // namespace nightferry::fhir::exchange
