// Bytes to drafts: JSON (one object or an array), NDJSON, and CSV with a header row. Field names are the
// same in all of them; config/entry-format.md describes them for people.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "daemon/entry/draft.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::entry {

enum class Format { json, ndjson, csv };

// By a file's ending (.json, .ndjson, .jsonl, .csv), in any case; nothing for another ending.
std::optional<Format> format_of_file(std::string_view name);
// By a media type (application/json, application/x-ndjson, text/csv); nothing for another.
std::optional<Format> format_of_media_type(std::string_view media_type);

struct Limits {
    std::size_t bytes = 4 * 1024 * 1024;  // One file or request.
    std::size_t entries = 20'000;         // In one file or request.
};

struct Reading {
    std::vector<Draft> drafts;
    // Set when the text as a whole cannot be read; there are no drafts then.
    std::optional<Problem> failure;
};

// Why these bytes cannot be read, whatever the form; else takes a byte order mark off them.
std::optional<Problem> cannot_be_read(std::string_view& bytes, const Limits& limits);
// What a text is told that is no JSON; `line_before` is how many lines stand before it.
Problem not_json(const fhir::json::ReadError& error, std::size_t line_before);

Reading read(std::string_view bytes, Format format, const Limits& limits = {});

// The parts of read(), one per format.
Reading read_json(std::string_view text, const Limits& limits);
Reading read_ndjson(std::string_view text, const Limits& limits);
Reading read_csv(std::string_view text, const Limits& limits);

}  // namespace nightferry::entry
