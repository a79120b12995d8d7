// Reading JSON text into a Document, strictly: RFC 8259, valid UTF-8, no duplicate names, within limits.
#pragma once

#include <boost/system/result.hpp>
#include <cstddef>
#include <string>
#include <string_view>

#include "fhir/json/document.hpp"

namespace nightferry::fhir::json {

// What a reader accepts at most. The defaults suit one FHIR answer or one file of entries.
struct Limits {
    std::size_t bytes = 16 * 1024 * 1024;         // Of text; beyond 4 GiB nothing is read whatever is set.
    std::size_t depth = 64;                       // Nested arrays and objects.
    std::size_t values = 1'000'000;               // Values in one document.
    std::size_t string_bytes = 16 * 1024 * 1024;  // One string; base64 data may be most of a document.
};

// A place in a text, counted from 1, columns in bytes.
struct Position {
    std::size_t line = 1;
    std::size_t column = 1;
};
Position position_at(std::string_view text, std::size_t offset);

// The positions of many offsets in one text: as long as they rise, each costs only the way from the last.
class Positions {
 public:
    explicit Positions(std::string_view text) : text_(text) {}
    Position at(std::size_t offset);

 private:
    std::string_view text_;
    std::size_t reached_ = 0;
    std::size_t line_ = 1;
    std::size_t line_start_ = 0;
};

struct ReadError {
    std::string message;  // What is wrong and what was expected; never content of the document.
    std::size_t offset = 0;
    Position position;
    std::string pointer;  // RFC 6901 pointer of the innermost value reached; empty = the whole document.
};
[[noreturn]] void throw_exception_from_error(const ReadError& error, const boost::source_location& where);

boost::system::result<Document, ReadError> read(std::string_view text, const Limits& limits = {});

// A pointer token, escaped as RFC 6901 section 3 says.
std::string pointer_token(std::string_view name);

}  // namespace nightferry::fhir::json
