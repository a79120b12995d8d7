#include "daemon/page/leaf.hpp"

#include "daemon/entry/vocabulary.hpp"
#include "daemon/texts/care_words.hpp"

namespace nightferry::page {

namespace {

LocalSecond local(const Backdrop& at, Instant instant) {
    const Moment moment = at.household.zone.at(instant);
    return LocalSecond{
        std::chrono::floor<std::chrono::seconds>((moment.at + moment.offset).time_since_epoch())};
}

void put_head(Leaf& leaf, std::string_view title) {
    Html& html = leaf.html;
    const auto head = html.in("head");
    html.put("meta", {{"charset", "utf-8"}});
    html.put("meta", {{"name", "viewport"}, {"content", "width=device-width, initial-scale=1"}});
    html.put("meta", {{"name", "color-scheme"}, {"content", "light dark"}});
    html.put("title", std::string(title) + " · " + leaf.say(T::name));
    html.put("link", {{"rel", "stylesheet"}, {"href", "/page.css"}});
    html.put("link", {{"rel", "icon"}, {"type", "image/svg+xml"}, {"href", "/page.svg"}});
    html.script_at("/page.js");
}

void put_foot(Leaf& leaf) {
    const auto foot = leaf.html.in("footer");
    leaf.html.put("p", leaf.say(T::caution_record));
    leaf.html.put("p", leaf.say(T::caution_emergency));
}

}  // namespace

std::string Leaf::word(std::string_view word) const {
    return texts::say_word(at.speaker, word);
}

std::string time_of_day(const Backdrop& at, Instant instant) {
    const LocalSecond shown = local(at, instant);
    return at.speaker.time_of_day(
        std::chrono::floor<std::chrono::minutes>(shown - std::chrono::floor<std::chrono::days>(shown)));
}

std::string Leaf::day(Instant instant) const {
    const auto day = std::chrono::floor<std::chrono::days>(local(at, instant));
    return at.speaker.weekday(std::chrono::weekday{day}) + " " +
           at.speaker.date(std::chrono::year_month_day{day});
}

std::string Leaf::clock(Instant instant) const {
    return day(instant) + ", " + time_of_day(instant);
}

std::string Leaf::ago(Instant instant) const {
    const auto minutes = std::chrono::floor<std::chrono::minutes>(at.now - instant).count();
    if (minutes < 60) return count(T::ago_minutes, std::max<std::int64_t>(minutes, 0));
    if (minutes < 48 * 60) return count(T::ago_hours, minutes / 60);
    return count(T::ago_days, minutes / (24 * 60));
}

std::string Leaf::amount(const entry::Amount& amount) const {
    return at.speaker.number(amount.value.to_string()) + " " + std::string(entry::word_for(amount.unit));
}

std::string Leaf::place(const care::BodyZone& zone) const {
    return word(entry::word_for(zone.side)) + " " + word(entry::word_for(zone.region));
}

std::string Leaf::carer(const std::string& key) const {
    const entry::Carer* known = at.household.carer(key);
    return known == nullptr ? key : known->name;
}

std::string Leaf::person(const std::string& key) const {
    const entry::Person* known = at.household.person(key);
    return known == nullptr ? key : known->name;
}

void Leaf::section(Html::Name id, T heading, const std::function<void()>& content) {
    const std::string name(id.text());
    const auto section = html.in("section", {{"aria-labelledby", name}});
    html.put("h2", {{"id", name}}, say(heading));
    content();
}

void Leaf::button_to(const std::string& address, std::string_view words) {
    html.put("a", {{"class", "button"}, {"href", address}}, words);
}

std::string whole_page(const Backdrop& backdrop, std::string_view title,
                       const std::function<void(Leaf&)>& content) {
    Html html;
    Leaf leaf(html, backdrop);
    {
        const auto page =
            html.in("html", {{"lang", std::string(texts::tag_of(backdrop.speaker.language()))}});
        put_head(leaf, title);
        std::vector<Html::Attribute> known;
        if (!backdrop.phone.empty()) known.push_back({"data-phone", backdrop.phone});
        const auto body = html.in("body", known);
        html.put("a", {{"class", "skip"}, {"href", "#content"}}, leaf.say(T::skip_to_content));
        {
            const auto header = html.in("header");
            html.put("a", {{"href", "/"}}, leaf.say(T::name));
        }
        // Filled in by the script, when something waits on this phone.
        html.put("div", {{"id", "kept"},
                         {"role", "status"},
                         {"data-kept", leaf.say(T::kept)},
                         {"data-some", leaf.say(T::kept_some, {"{1}"})},
                         {"data-sent", leaf.say(T::sent_later)},
                         {"data-look", leaf.say(T::needs_you)},
                         {"data-open", leaf.say(T::look_at_it)},
                         {"data-drop", leaf.say(T::drop_it)},
                         {"data-drop-asked", leaf.say(T::drop_it_asked)},
                         {"data-not-kept", leaf.say(T::not_kept)}});
        {
            const auto main = html.in("main", {{"id", "content"}});
            html.put("h1", title);
            content(leaf);
        }
        put_foot(leaf);
    }
    return html.document();
}

}  // namespace nightferry::page
