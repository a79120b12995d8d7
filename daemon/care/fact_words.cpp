#include "daemon/care/fact_words.hpp"

#include <algorithm>

#include "daemon/care/calendar.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::care {

namespace {

std::string with_blanks(std::string_view word) {
    std::string words(word);
    std::ranges::replace(words, '_', ' ');
    return words;
}

}  // namespace

std::string clock_words(const Zone& home, Instant at) {
    return to_text(std::chrono::floor<std::chrono::seconds>(clock_at(home, at)));
}

std::string time_of_day_words(std::chrono::minutes clock) {
    const auto two_digits = [](std::chrono::minutes::rep number) {
        return (number < 10 ? "0" : "") + std::to_string(number);
    };
    return two_digits(clock.count() / 60) + ":" + two_digits(clock.count() % 60);
}

std::string span_words(std::chrono::microseconds span) {
    const auto minutes = std::chrono::floor<std::chrono::minutes>(span < span.zero() ? -span : span).count();
    const std::string rest = std::to_string(minutes % 60) + " min";
    return minutes < 60 ? rest : std::to_string(minutes / 60) + " h " + rest;
}

std::string content_words(const Decimal& content, entry::Unit unit) {
    return content.to_string() + " " + std::string(entry::word_for(unit));
}

std::string amount_words(const entry::Amount& amount, const DoseSize& size) {
    const std::string written = content_words(amount.value, amount.unit);
    if (amount.unit != entry::Unit::millilitre) return written;
    return written + " (" + content_words(size.content, size.unit) + ")";
}

std::string zone_words(const BodyZone& zone) {
    return std::string(entry::word_for(zone.side)) + " " + with_blanks(entry::word_for(zone.region));
}

std::string zone_words(const entry::Site& site) {
    return zone_words(BodyZone{site.region, site.side});
}

std::string why_words(entry::WhyNotGiven why) {
    return with_blanks(entry::word_for(why));
}

std::string finding_words(entry::FindingKind kind) {
    return with_blanks(entry::word_for(kind));
}

}  // namespace nightferry::care
