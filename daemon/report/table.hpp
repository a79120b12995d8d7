// Columns of text, and reading the members of an answer.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fhir/json/document.hpp"

namespace nightferry::report {

class Table {
 public:
    void row(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
    bool is_empty() const { return rows_.empty(); }

    // Each column as wide as its widest cell, two blanks between them, none at the ends of lines.
    std::string text() const;

 private:
    std::vector<std::vector<std::string>> rows_;
};

// The member's text or lexeme; empty when it is absent.
std::string text_at(const fhir::json::Value& object, std::string_view name);
// 0 when it is absent.
long number_at(const fhir::json::Value& object, std::string_view name);
// False when it is absent.
bool flag_at(const fhir::json::Value& object, std::string_view name);

// Lines of at most `width` columns, broken at blanks, each behind `indent`; ends with a line feed.
std::string wrapped(std::string_view text, std::string_view indent, std::size_t width = 96);

// "not_at_hand" as "not at hand".
std::string spaced(std::string word);
// "left thigh (2.5, 0)"; empty without a region.
std::string site_text(const fhir::json::Value& object);

}  // namespace nightferry::report
