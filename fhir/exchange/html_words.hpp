// The words of web pages and other markup that a server or a proxy sends where FHIR was expected.
#pragma once

#include <string>
#include <string_view>

namespace nightferry::fhir::exchange {

// How much of a page is looked at.
inline constexpr std::size_t markup_bytes_max = 64 * 1024;

// What a page says in its title and first heading; all its text when it has neither. Tags, comments, scripts
// and styles are dropped, entities decoded. The result may still hold line ends.
std::string html_words(std::string_view page);

// "&amp;", "&#38;" and "&#x26;" as "&". What is no known entity stays as it is.
std::string without_entities(std::string_view text);

}  // namespace nightferry::fhir::exchange
