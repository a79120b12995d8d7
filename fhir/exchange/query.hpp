// Search queries: the text behind "?" in a search, and of ifNoneExist
// (https://hl7.org/fhir/R4/search.html, https://hl7.org/fhir/R4/http.html#ccreate).
//
// A value is escaped twice: what search itself gives a meaning (\ , $ |) by a backslash
// (https://hl7.org/fhir/R4/search.html#escaping), then all of it for the query string.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightferry::fhir::exchange {

// Builds a query parameter by parameter.
class Query {
 public:
    // The name may bear a modifier ("identifier:of-type") and goes out percent-encoded only.
    Query& add(std::string_view name, std::string_view value);
    // Any of the values.
    Query& add_any(std::string_view name, const std::vector<std::string>& values);
    // "system|value"
    Query& add_token(std::string_view name, std::string_view system, std::string_view value);

    const std::string& text() const { return text_; }

 private:
    void begin(std::string_view name);

    std::string text_;
};

// "identifier=system|value", encoded.
std::string identifier_query(std::string_view system, std::string_view value);

// A token as a query gives it. Without a system any system is meant; with an empty one, none
// (https://hl7.org/fhir/R4/search.html#token).
struct Token {
    std::optional<std::string> system;
    std::string value;
};

// One parameter of a query that was read back. `text` still bears search's own escapes.
struct QueryParameter {
    std::string name;
    std::string text;

    // The values between unescaped commas, without escapes.
    std::vector<std::string> values() const;
    // Of a single token.
    Token token() const;
};

// Reads a query, with or without a leading "?" or what stands before it, up to `parameters_max` parameters.
// Empty ones ("&&") are left out.
inline constexpr std::size_t parameters_max = 1'000;
std::vector<QueryParameter> read_query(std::string_view text);

}  // namespace nightferry::fhir::exchange
