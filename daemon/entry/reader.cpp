#include "daemon/entry/reader.hpp"

#include <algorithm>
#include <cctype>
#include <string>

#include "daemon/core/words.hpp"

namespace nightferry::entry {

namespace {

std::string lower(std::string_view text) {
    std::string result(text);
    std::transform(result.begin(), result.end(), result.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    return result;
}

}  // namespace

std::optional<Format> format_of_file(std::string_view name) {
    const auto dot = name.rfind('.');
    if (dot == std::string_view::npos) return std::nullopt;
    const std::string ending = lower(name.substr(dot + 1));
    if (ending == "json") return Format::json;
    if (ending == "ndjson" || ending == "jsonl") return Format::ndjson;
    if (ending == "csv") return Format::csv;
    return std::nullopt;
}

std::optional<Format> format_of_media_type(std::string_view media_type) {
    const std::string type = lower(trimmed(media_type.substr(0, media_type.find(';'))));
    if (type == "application/json") return Format::json;
    if (type == "application/x-ndjson") return Format::ndjson;
    if (type == "text/csv") return Format::csv;
    return std::nullopt;
}

std::optional<Problem> cannot_be_read(std::string_view& bytes, const Limits& limits) {
    if (bytes.size() > limits.bytes) {
        return Problem{{},
                       "it is larger than " + std::to_string(limits.bytes / 1024 / 1024) +
                           " MiB; hand it in in smaller pieces"};
    }
    constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
    if (bytes.starts_with(byte_order_mark)) bytes.remove_prefix(byte_order_mark.size());
    if (bytes.starts_with("\xFF\xFE") || bytes.starts_with("\xFE\xFF")) {
        return Problem{{}, "it is written in UTF-16; save it as UTF-8 (in a spreadsheet: 'CSV UTF-8')"};
    }
    if (trimmed(bytes).empty()) return Problem{{}, "it is empty; there is nothing to record"};
    return std::nullopt;
}

Reading read(std::string_view bytes, Format format, const Limits& limits) {
    if (auto problem = cannot_be_read(bytes, limits)) return {{}, std::move(problem)};
    switch (format) {
        case Format::json:
            return read_json(bytes, limits);
        case Format::ndjson:
            return read_ndjson(bytes, limits);
        case Format::csv:
            return read_csv(bytes, limits);
    }
    return {};
}

}  // namespace nightferry::entry
