#include "fhir/check/primitives.hpp"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <limits>

#include "fhir/check/date_times.hpp"
#include "fhir/json/ascii.hpp"

namespace nightferry::fhir::check {

namespace {

using spec::Form;

// White space as XML and the published expressions mean it; a no-break space is a character like others.
constexpr auto is_blank = [](char c) { return c == ' ' || (c >= '\t' && c <= '\r'); };

// R4 takes any single white space within, R5 only a space.
bool is_code(std::string_view text, bool r5) {
    bool behind_blank = true;
    for (const char c : text) {
        const bool blank = is_blank(c);
        if (blank && (behind_blank || (r5 && c != ' '))) return false;
        behind_blank = blank;
    }
    return !behind_blank;
}

bool has_no_blank(std::string_view text) {
    return std::none_of(text.begin(), text.end(), is_blank);
}

bool is_id(std::string_view text) {
    return text.size() <= 64 && std::all_of(text.begin(), text.end(), [](char c) {
               return ascii::is_letter_or_digit(c) || c == '-' || c == '.';
           });
}

// urn:oid: and arcs without leading zeros, the first of which is 0, 1 or 2.
bool is_oid(std::string_view text) {
    constexpr std::string_view prefix = "urn:oid:";
    if (!text.starts_with(prefix)) return false;
    text.remove_prefix(prefix.size());
    if (text.empty() || text.front() < '0' || text.front() > '2') return false;
    for (std::size_t arc = 0;; ++arc) {
        const auto dot = std::min(text.find('.'), text.size());
        const std::string_view digits = text.substr(0, dot);
        const bool well_written = !digits.empty() &&
                                  std::all_of(digits.begin(), digits.end(), ascii::is_digit) &&
                                  (digits.size() == 1 || digits.front() != '0');
        if (!well_written || (arc == 0 && digits.size() != 1)) return false;
        if (dot == text.size()) return arc > 0;
        text.remove_prefix(dot + 1);
    }
}

bool is_uuid(std::string_view text) {
    constexpr std::string_view prefix = "urn:uuid:";
    if (!text.starts_with(prefix)) return false;
    text.remove_prefix(prefix.size());
    if (text.size() != 36) return false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const bool dash = i == 8 || i == 13 || i == 18 || i == 23;
        const bool hex = ascii::is_digit(text[i]) || (text[i] >= 'a' && text[i] <= 'f');
        if (dash ? text[i] != '-' : !hex) return false;
    }
    return true;
}

// RFC 4648 section 4; white space between the characters is allowed.
bool is_base64(std::string_view text) {
    std::size_t characters = 0;
    std::size_t padding = 0;
    for (const char c : text) {
        if (is_blank(c)) continue;
        if (c == '=') {
            ++padding;
        } else if (padding > 0 || !(ascii::is_letter_or_digit(c) || c == '+' || c == '/')) {
            return false;
        }
        ++characters;
    }
    return characters > 0 && characters % 4 == 0 && padding <= 2;
}

// A whole number of that range, in JSON's spelling: no fraction, no exponent.
bool is_integer(std::string_view text, std::int64_t least, std::int64_t most, bool minus_zero = false) {
    const bool negative = text.starts_with('-');
    const std::string_view digits = negative ? text.substr(1) : text;
    if (digits.empty() || (digits.front() == '0' && (digits.size() > 1 || (negative && !minus_zero))))
        return false;
    std::int64_t value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    return error == std::errc() && end == text.data() + text.size() && value >= least && value <= most;
}

constexpr std::size_t string_characters_max = 1'048'576;

bool is_too_long(std::string_view text) {
    if (text.size() <= string_characters_max) return false;
    const auto characters = std::count_if(
        text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; });
    return static_cast<std::size_t>(characters) > string_characters_max;
}

constexpr std::int64_t int_max = std::numeric_limits<std::int32_t>::max();

std::string_view unless(bool well_formed, std::string_view expected) {
    return well_formed ? std::string_view() : expected;
}

std::string_view wrong_number(Form form, std::string_view text, bool r5) {
    switch (form) {
        case Form::integer:
            return unless(is_integer(text, -int_max - 1, int_max, !r5),
                          "an integer is a whole number from -2147483648 to 2147483647, without fraction or "
                          "exponent");
        case Form::positive_int:
            return unless(is_integer(text, 1, int_max),
                          "a positiveInt is a whole number from 1 to 2147483647");
        case Form::unsigned_int:
            return unless(is_integer(text, 0, int_max),
                          "an unsignedInt is a whole number from 0 to 2147483647");
        case Form::integer64:
            // As the only one it may have a plus, since it is a text: [0]|[-+]?[1-9][0-9]*.
            if (text.size() > 1 && text[0] == '+' && text[1] != '0' && text[1] != '-') text.remove_prefix(1);
            return unless(is_integer(text, std::numeric_limits<std::int64_t>::min(),
                                     std::numeric_limits<std::int64_t>::max()),
                          "an integer64 is a whole number of at most 64 bits, written as a text");
        default:
            return {};  // A decimal may be any number that JSON can write.
    }
}

std::string_view wrong_time(Form form, std::string_view text, spec::Release release) {
    const int fraction_digits_max = release == spec::Release::r5 ? 9 : 0;
    switch (form) {
        case Form::date:
            return unless(read_date_time(text, {true, false, 0}),
                          "a date is YYYY, YYYY-MM or YYYY-MM-DD, and the day exists");
        case Form::date_time:
            return unless(read_date_time(text, {false, false, fraction_digits_max}),
                          "a dateTime is YYYY, YYYY-MM, YYYY-MM-DD or YYYY-MM-DDThh:mm:ss with a zone (Z or "
                          "+hh:mm), and the day exists");
        case Form::instant:
            return unless(read_date_time(text, {false, true, fraction_digits_max}),
                          "an instant is YYYY-MM-DDThh:mm:ss with a zone (Z or +hh:mm), and the day exists");
        default:
            return unless(is_time(text, fraction_digits_max), "a time is hh:mm:ss without a zone");
    }
}

std::string_view wrong_text(Form form, std::string_view text, bool r5) {
    switch (form) {
        case Form::code:
            return unless(is_code(text, r5),
                          "a code has no white space around it and single spaces at most within");
        case Form::id:
            return unless(is_id(text), "an id is 1 to 64 of A-Z, a-z, 0-9, - and .");
        case Form::oid:
            return unless(is_oid(text), "an oid is urn:oid: followed by numbers with dots between");
        case Form::uuid:
            return unless(is_uuid(text), "a uuid is urn:uuid: followed by a UUID in lower case");
        case Form::base64_binary:
            return unless(is_base64(text), "base64Binary is base 64 with its padding");
        case Form::uri:
        case Form::url:
        case Form::canonical:
            return unless(has_no_blank(text), "a URI has no white space");
        default:
            return unless(!is_too_long(text), "a text has at most 1048576 characters");
    }
}

}  // namespace

std::string_view wrong_form(Form form, std::string_view text, spec::Release release) {
    switch (form) {
        case Form::object:
        case Form::any_resource:
        case Form::boolean:
        case Form::xhtml:
            return {};
        case Form::decimal:
        case Form::integer:
        case Form::integer64:
        case Form::positive_int:
        case Form::unsigned_int:
            return wrong_number(form, text, release == spec::Release::r5);
        case Form::date:
        case Form::date_time:
        case Form::instant:
        case Form::time:
            return wrong_time(form, text, release);
        case Form::base64_binary:
        case Form::canonical:
        case Form::code:
        case Form::id:
        case Form::markdown:
        case Form::oid:
        case Form::string:
        case Form::uri:
        case Form::url:
        case Form::uuid:
            return wrong_text(form, text, release == spec::Release::r5);
    }
    return {};
}

}  // namespace nightferry::fhir::check
