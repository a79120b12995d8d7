// JSON and NDJSON to drafts. Members stay flat: a nested value is a mistake and is named as one.
#include <algorithm>
#include <string>

#include "daemon/core/words.hpp"
#include "daemon/entry/reader.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::entry {

namespace json = fhir::json;

namespace {

constexpr std::size_t fields_max = 64;

std::string line_words(std::size_t line) {
    return "line " + std::to_string(line);
}

std::string place(std::size_t line, const std::string& pointer) {
    return pointer.empty() ? line_words(line) : line_words(line) + ", " + pointer;
}

// A member name as it may be shown.
std::string shown(std::string_view name) {
    const std::string quoted_name = in_quotes(name);
    return json::pointer_token(std::string_view(quoted_name).substr(1, quoted_name.size() - 2));
}

// Tells the line of offsets that mostly rise, without counting from the start each time.
class Lines {
 public:
    Lines(std::string_view text, std::size_t line_before) : text_(text), line_(line_before + 1) {}

    std::size_t at(std::size_t offset) {
        offset = std::min(offset, text_.size());
        const auto count = [&](std::size_t from, std::size_t to) {
            return static_cast<std::size_t>(std::count(text_.begin() + static_cast<std::ptrdiff_t>(from),
                                                       text_.begin() + static_cast<std::ptrdiff_t>(to),
                                                       '\n'));
        };
        line_ = offset >= offset_ ? line_ + count(offset_, offset) : line_ - count(offset, offset_);
        offset_ = offset;
        return line_;
    }

 private:
    std::string_view text_;
    std::size_t line_;
    std::size_t offset_ = 0;
};

// One object's members become one draft.
Draft draft_from(const json::Value& object, const std::string& pointer, Lines& lines) {
    Draft draft;
    draft.where = place(lines.at(object.offset()), pointer);
    if (!object.is(json::Kind::object)) {
        draft.problems.push_back(
            {draft.where, "found " + std::string(json::words_for(object.kind())) +
                              ", expected an entry: an object like {\"type\": \"dose_given\", …}"});
        return draft;
    }
    if (object.size() > fields_max) {
        draft.problems.push_back(
            {draft.where, "an entry has at most " + std::to_string(fields_max) + " fields"});
        return draft;
    }
    for (const json::Value& member : object) {
        const std::string where = place(lines.at(member.offset()), pointer + "/" + shown(member.name()));
        switch (member.kind()) {
            case json::Kind::string:
            case json::Kind::number:
                draft.fields.push_back({std::string(member.name()), std::string(member.text()), where});
                break;
            case json::Kind::boolean:
                draft.fields.push_back(
                    {std::string(member.name()), member.boolean() ? "true" : "false", where});
                break;
            case json::Kind::null:
                break;  // The same as leaving it out.
            case json::Kind::array:
            case json::Kind::object:
                draft.unreadable.emplace_back(member.name());
                draft.problems.push_back({where, "found " + std::string(json::words_for(member.kind())) +
                                                     ", expected a text, a number, true or false"});
                break;
        }
    }
    return draft;
}

json::Limits json_limits(const Limits& limits) {
    json::Limits inner;
    inner.bytes = limits.bytes;
    inner.depth = 8;
    return inner;
}

}  // namespace

Problem not_json(const json::ReadError& error, std::size_t line_before) {
    return {
        line_words(line_before + error.position.line) + ", column " + std::to_string(error.position.column),
        "this is not valid JSON: " + error.message +
            (error.pointer.empty() ? std::string() : " (reading " + in_quotes(error.pointer) + ")")};
}

Reading read_json(std::string_view text, const Limits& limits) {
    Reading reading;
    const auto document = json::read(text, json_limits(limits));
    if (!document) {
        reading.failure = not_json(document.error(), 0);
        return reading;
    }
    const json::Value& root = document->root();
    Lines lines(text, 0);
    if (!root.is(json::Kind::array)) {
        reading.drafts.push_back(draft_from(root, "", lines));
        return reading;
    }
    if (root.size() > limits.entries) {
        reading.failure = Problem{{},
                                  "it holds " + std::to_string(root.size()) + " entries; at most " +
                                      std::to_string(limits.entries) + " are taken at once"};
        return reading;
    }
    std::size_t index = 0;
    for (const json::Value& item : root) {
        reading.drafts.push_back(draft_from(item, "/" + std::to_string(index++), lines));
    }
    if (reading.drafts.empty())
        reading.failure = Problem{{}, "the list is empty; there is nothing to record"};
    return reading;
}

Reading read_ndjson(std::string_view text, const Limits& limits) {
    Reading reading;
    std::size_t line = 0;
    while (!text.empty()) {
        const std::string_view row = text.substr(0, text.find('\n'));
        text.remove_prefix(std::min(row.size() + 1, text.size()));
        const std::size_t line_before = line++;
        if (trimmed(row).empty()) continue;
        if (reading.drafts.size() == limits.entries) {
            reading.drafts.clear();
            reading.failure =
                Problem{line_words(line), "at most " + std::to_string(limits.entries) +
                                              " entries are taken at once; hand it in in smaller pieces"};
            return reading;
        }
        const auto document = json::read(row, json_limits(limits));
        if (document) {
            Lines lines(row, line_before);
            reading.drafts.push_back(draft_from(document->root(), "", lines));
        } else {
            Draft broken;
            broken.where = line_words(line);
            broken.problems.push_back(not_json(document.error(), line_before));
            reading.drafts.push_back(std::move(broken));
        }
    }
    return reading;
}

}  // namespace nightferry::entry
