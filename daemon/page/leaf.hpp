// One page in the making: its markup, and how it says instants, amounts, people and places. Used inside this
// room only.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/care/sites.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/page/typed.hpp"
#include "daemon/report/html.hpp"
#include "daemon/texts/page_texts.hpp"
#include "daemon/texts/speaker.hpp"

namespace nightferry::page {

using report::Html;
using T = texts::PageText;

// What every page is shown before. All of it outlives the page.
struct Backdrop {
    const entry::Household& household;
    const texts::Speaker& speaker;
    Instant now;
    std::string phone = {};  // The id of the phone that is let in; empty for whoever is not.
};

// "08:00", as the home's clock showed it.
std::string time_of_day(const Backdrop& at, Instant instant);

class Leaf {
 public:
    Leaf(Html& markup, const Backdrop& backdrop) : html(markup), at(backdrop) {}

    Html& html;
    const Backdrop& at;

    std::string say(T text, texts::Speaker::Told told = {}) const { return at.speaker.say(text, told); }
    std::string count(T text, std::int64_t number, texts::Speaker::Told told = {}) const {
        return at.speaker.count(text, number, told);
    }
    // A word of the entry format, as people read it.
    std::string word(std::string_view word) const;

    std::string time_of_day(Instant instant) const { return page::time_of_day(at, instant); }
    std::string day(Instant instant) const;                 // "Mon 12 Oct 2026"
    std::string clock(Instant instant) const;               // "Mon 12 Oct 2026, 08:00"
    std::string ago(Instant instant) const;                 // "3 days ago", in whole units.
    std::string amount(const entry::Amount& amount) const;  // "0.20 mL"
    std::string place(const care::BodyZone& zone) const;    // "left thigh"
    // The names of the settings; a key that they do not know (any more) as it is.
    std::string carer(const std::string& key) const;
    std::string person(const std::string& key) const;

    // A heading with what follows as a section that it names.
    void section(Html::Name id, T heading, const std::function<void()>& content);
    // A link that looks like a button.
    void button_to(const std::string& address, std::string_view words);
};

// The whole document. `title` is its heading, too.
std::string whole_page(const Backdrop& backdrop, std::string_view title,
                       const std::function<void(Leaf&)>& content);

// Parts of forms. Each shows what was typed before.
class Form {
 public:
    // `action` is where it is sent. Fields that nobody sees are written at once.
    Form(Leaf& leaf, const std::string& action, const Typed& typed,
         std::initializer_list<std::string_view> unseen);

    // One of several.
    struct Choice {
        std::string value;
        std::string words;
        std::string fact = {};  // Behind the words.
    };
    void choose(std::string_view name, std::string_view legend, const std::vector<Choice>& choices,
                bool needed);
    struct Line {
        std::string_view name;
        T label;
        std::string_view type = "text";  // Of an input element.
        std::string_view keyboard = {};  // "decimal" or "numeric".
        bool needed = false;
    };
    void line(const Line& line, std::string_view hint = {});
    void paragraph(std::string_view name, T label, T hint);
    void pick(std::string_view name, T label, const std::vector<Choice>& choices);
    // Has to be ticked.
    void confirm(std::string_view name, std::string_view words);
    void send(std::string_view words);

    const Typed& typed() const { return typed_; }

 private:
    Leaf& leaf_;
    const Typed& typed_;
    Html::Inside form_;
};

}  // namespace nightferry::page
