// Where the validator stands in a resource, and the issues it has found. A Place lives on the stack and is
// turned into text only when there is something to report, so that a valid resource costs no allocation.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "fhir/check/validator.hpp"
#include "fhir/json/document.hpp"

namespace nightferry::fhir::check {

struct Place {
    static constexpr std::uint32_t no_index = 0xffffffff;

    const Place* up = nullptr;       // Of what holds this; none for the outermost resource.
    const json::Value* value;        // What stands here.
    std::string_view element;        // The element's name; for the outermost resource its type.
    std::string_view member = {};    // The name in JSON, which for a choice has the type behind it.
    std::uint32_t index = no_index;  // In the list, if it is an item of one.
};

std::string expression_of(const Place& place);
std::string pointer_of(const Place& place);

class Findings {
 public:
    Findings(Report& report, const Options& options) : report_(report), options_(options) {}

    // No room for another error: looking further is of no use. Warnings never fill the report, since they
    // would hide the errors behind them.
    bool full() const { return full_; }
    bool wants_warnings() const { return options_.warnings; }

    void add(const Rule& rule, const Place& place, std::string text);
    // About an element of `place` that is missing.
    void add_missing(const Rule& rule, const Place& place, std::string_view child, std::string text);

 private:
    void put(const Rule& rule, std::string expression, const Place& place, std::string text);

    Report& report_;
    const Options& options_;
    std::size_t errors_ = 0;
    std::size_t warnings_ = 0;
    bool full_ = false;
};

}  // namespace nightferry::fhir::check
