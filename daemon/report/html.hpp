// Writes HTML, and SVG inside it. Names of elements and attributes stand in the source and are looked at
// while it is compiled; everything else is escaped, so that what people wrote can never become markup.
//
//     const auto row = html.in("tr");
//     html.put("th", {{"scope", "row"}}, name);
//
// An element that in() opens ends with the variable that in() was assigned to.
#pragma once

#include <initializer_list>
#include <span>
#include <string>
#include <string_view>

namespace nightferry::report {

class Html {
 public:
    // A name as it stands in the source. None of an attribute that holds code.
    class Name {
     public:
        consteval Name(const char* text) : text_(text) {  // Not explicit: it is written as text.
            if (text_.empty() || text_.starts_with("on") || text_ == "style" || text_ == "script")
                throw "no name for markup";
            for (const char c : text_) {
                const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
                if (!letter && !(c >= '0' && c <= '9') && c != '-') throw "no name for markup";
            }
        }
        std::string_view text() const { return text_; }

     private:
        std::string_view text_;
    };

    // Text that stands in the source and is written as it is: a sheet of styles.
    class Fixed {
     public:
        consteval Fixed(const char* text) : text_(text) {  // Not explicit: it is written as text.
            if (text_.find('<') != std::string_view::npos) throw "would end the element it stands in";
        }
        std::string_view text() const { return text_; }

     private:
        std::string_view text_;
    };

    // Of href, src, action and formaction only an address on this hub ("/report") or this page ("#flags")
    // is written; another one becomes "#".
    struct Attribute {
        Name name;
        std::string value;
    };
    using Attributes = std::span<const Attribute>;
    using Written = std::initializer_list<Attribute>;

    class Inside {
     public:
        Inside(const Inside&) = delete;
        Inside& operator=(const Inside&) = delete;
        ~Inside() { html_.end(name_); }

     private:
        friend class Html;
        Inside(Html& html, Name name) : html_(html), name_(name) {}
        Html& html_;
        Name name_;
    };

    // Begins with the document type.
    Html();

    [[nodiscard]] Inside in(Name element, Attributes attributes);
    [[nodiscard]] Inside in(Name element, Written attributes = {}) {
        return in(element, as_span(attributes));
    }
    // An element with nothing but text in it; of a void element ("meta") its one tag.
    void put(Name element, Attributes attributes, std::string_view text = {});
    void put(Name element, Written attributes, std::string_view text = {}) {
        put(element, as_span(attributes), text);
    }
    void put(Name element, std::string_view text) { put(element, Attributes(), text); }
    // A script of this hub's own, which begins when the page is there.
    void script_at(Fixed address);
    void text(std::string_view text);
    void style(Fixed sheet);

    // What was written so far; every element has ended.
    const std::string& document() const;

 private:
    static Attributes as_span(Written attributes) { return {attributes.begin(), attributes.size()}; }
    void begin(Name element, Attributes attributes);
    void end(Name element);

    std::string written_;
    int depth_ = 0;
};

}  // namespace nightferry::report
