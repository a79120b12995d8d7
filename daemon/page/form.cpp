// The parts of forms.
#include <algorithm>

#include "daemon/page/leaf.hpp"

namespace nightferry::page {

namespace {

using Attributes = std::vector<Html::Attribute>;

}  // namespace

Form::Form(Leaf& leaf, const std::string& action, const Typed& typed,
           std::initializer_list<std::string_view> unseen)
    : leaf_(leaf),
      typed_(typed),
      form_(leaf.html.in("form", {{"method", "post"}, {"action", action}, {"autocomplete", "off"}})) {
    for (const std::string_view name : unseen) {
        leaf_.html.put("input",
                       {{"type", "hidden"}, {"name", std::string(name)}, {"value", typed.value(name)}});
    }
}

void Form::choose(std::string_view name, std::string_view legend, const std::vector<Choice>& choices,
                  bool needed) {
    const auto group = leaf_.html.in("fieldset");
    leaf_.html.put("legend", legend);
    for (const Choice& choice : choices) {
        const auto label = leaf_.html.in("label", {{"class", "choice"}});
        Attributes attributes{{"type", "radio"}, {"name", std::string(name)}, {"value", choice.value}};
        if (typed_.value(name) == choice.value) attributes.push_back({"checked", ""});
        if (needed) attributes.push_back({"required", ""});
        leaf_.html.put("input", attributes);
        leaf_.html.put("span", choice.words);
        if (!choice.fact.empty()) leaf_.html.put("small", choice.fact);
    }
}

void Form::line(const Line& line, std::string_view hint) {
    const auto label = leaf_.html.in("label", {{"class", "line"}});
    leaf_.html.put("span", leaf_.say(line.label));
    if (!hint.empty()) leaf_.html.put("small", hint);
    Attributes attributes{{"type", std::string(line.type)},
                          {"name", std::string(line.name)},
                          {"value", typed_.value(line.name)}};
    if (!line.keyboard.empty()) attributes.push_back({"inputmode", std::string(line.keyboard)});
    if (line.needed) attributes.push_back({"required", ""});
    leaf_.html.put("input", attributes);
}

void Form::paragraph(std::string_view name, T label, T hint) {
    const auto around = leaf_.html.in("label", {{"class", "line"}});
    leaf_.html.put("span", leaf_.say(label));
    leaf_.html.put("small", leaf_.say(hint));
    leaf_.html.put("textarea", {{"name", std::string(name)}, {"rows", "3"}, {"maxlength", "1500"}},
                   typed_.value(name));
}

void Form::pick(std::string_view name, T label, const std::vector<Choice>& choices) {
    const auto around = leaf_.html.in("label", {{"class", "line"}});
    leaf_.html.put("span", leaf_.say(label));
    const auto select = leaf_.html.in("select", {{"name", std::string(name)}});
    std::vector<Choice> all = choices;
    // What the settings do not know any more stays chosen, so that it is refused and not replaced unseen.
    const bool is_known =
        !typed_.has(name) || std::ranges::find(all, typed_.value(name), &Choice::value) != all.end();
    if (!is_known) all.push_back({typed_.value(name), typed_.value(name)});
    for (const Choice& choice : all) {
        Attributes attributes{{"value", choice.value}};
        if (typed_.value(name) == choice.value) attributes.push_back({"selected", ""});
        leaf_.html.put("option", attributes, choice.words);
    }
}

void Form::confirm(std::string_view name, std::string_view words) {
    const auto label = leaf_.html.in("label", {{"class", "choice confirm"}});
    leaf_.html.put("input",
                   {{"type", "checkbox"}, {"name", std::string(name)}, {"value", "yes"}, {"required", ""}});
    leaf_.html.put("span", words);
}

void Form::send(std::string_view words) {
    leaf_.html.put("button", {{"type", "submit"}}, words);
}

}  // namespace nightferry::page
