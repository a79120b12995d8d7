#include "fhir/exchange/query.hpp"

#include "fhir/exchange/percent.hpp"

namespace nightferry::fhir::exchange {

namespace {

constexpr std::string_view special = "\\,$|";

std::string escaped(std::string_view value) {
    std::string result;
    for (const char c : value) {
        if (special.find(c) != std::string_view::npos) result += '\\';
        result += c;
    }
    return result;
}

std::string unescaped(std::string_view text) {
    std::string result;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const bool escape =
            text[i] == '\\' && i + 1 < text.size() && special.find(text[i + 1]) != std::string_view::npos;
        if (escape) ++i;
        result += text[i];
    }
    return result;
}

// The place of the next separator that no backslash protects.
std::size_t find_separator(std::string_view text, char separator) {
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\\') {
            ++i;
        } else if (text[i] == separator) {
            return i;
        }
    }
    return std::string_view::npos;
}

}  // namespace

void Query::begin(std::string_view name) {
    if (!text_.empty()) text_ += '&';
    text_ += percent_encoded(name);
    text_ += '=';
}

Query& Query::add(std::string_view name, std::string_view value) {
    begin(name);
    text_ += percent_encoded(escaped(value));
    return *this;
}

Query& Query::add_any(std::string_view name, const std::vector<std::string>& values) {
    begin(name);
    for (std::size_t i = 0; i < values.size(); ++i) {
        if (i > 0) text_ += ',';
        text_ += percent_encoded(escaped(values[i]));
    }
    return *this;
}

Query& Query::add_token(std::string_view name, std::string_view system, std::string_view value) {
    begin(name);
    text_ += percent_encoded(escaped(system) + "|" + escaped(value));
    return *this;
}

std::string identifier_query(std::string_view system, std::string_view value) {
    return Query().add_token("identifier", system, value).text();
}

std::vector<std::string> QueryParameter::values() const {
    std::vector<std::string> result;
    std::string_view rest = text;
    while (true) {
        const auto comma = find_separator(rest, ',');
        result.push_back(unescaped(rest.substr(0, comma)));
        if (comma == std::string_view::npos) return result;
        rest.remove_prefix(comma + 1);
    }
}

Token QueryParameter::token() const {
    const std::string_view whole = text;
    const auto bar = find_separator(whole, '|');
    if (bar == std::string_view::npos) return {std::nullopt, unescaped(whole)};
    return {unescaped(whole.substr(0, bar)), unescaped(whole.substr(bar + 1))};
}

std::vector<QueryParameter> read_query(std::string_view text) {
    // A question mark behind the first parameter's name belongs to a value.
    if (const auto mark = text.find('?'); mark != std::string_view::npos && mark < text.find('='))
        text.remove_prefix(mark + 1);
    std::vector<QueryParameter> parameters;
    while (!text.empty() && parameters.size() < parameters_max) {
        const auto end = text.find('&');
        const std::string_view one = text.substr(0, end);
        text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
        if (one.empty()) continue;
        const auto equals = one.find('=');
        const auto value = equals == std::string_view::npos ? std::string_view() : one.substr(equals + 1);
        parameters.push_back(
            {percent_decoded(one.substr(0, equals), Plus::is_blank), percent_decoded(value, Plus::is_blank)});
    }
    return parameters;
}

}  // namespace nightferry::fhir::exchange
