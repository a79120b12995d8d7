// Changes in a resource that a test is about, member by member.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::mapping {

struct Edit {
    std::string what;  // "set" or "drop"
    std::string path;  // Names and indexes, with slashes between them.
    std::string json;  // What to set.
};

// Copies `from` into the empty `into`, with the edit made at `path` below it.
inline void copy_edited(const fhir::json::Value& from, std::string_view path, const fhir::json::Value* put,
                        fhir::json::Value& into) {
    const bool is_list = from.is(fhir::json::Kind::array);
    const std::string_view step = path.substr(0, path.find('/'));
    const bool is_last = step.size() == path.size();
    bool found = false;
    std::size_t index = 0;
    const auto add = [&](const fhir::json::Value& value) {
        if (is_list) return into.push_copy(value);
        into.add_copy(&value == put ? step : value.name(), value);
    };
    for (const fhir::json::Value& child : from) {
        const bool is_meant = is_list ? std::to_string(index++) == step : child.name() == step;
        found = found || is_meant;
        if (!is_meant) {
            add(child);
        } else if (is_last && put != nullptr) {
            add(*put);
        } else if (!is_last) {
            fhir::json::Value& deeper = is_list                             ? into.push_object()
                                        : child.is(fhir::json::Kind::array) ? into.add_array(step)
                                                                            : into.add_object(step);
            copy_edited(child, path.substr(step.size() + 1), put, deeper);
        }
    }
    if (!found && is_last && put != nullptr) add(*put);
    EXPECT_TRUE(found || is_last) << path;
}

inline std::string edited(const std::string& text, const std::vector<Edit>& edits) {
    std::string result = text;
    for (const Edit& edit : edits) {
        const auto before = fhir::json::read(result);
        const auto put = fhir::json::read(edit.what == "set" ? edit.json : "null");
        EXPECT_TRUE(before) << result;
        EXPECT_TRUE(put) << edit.json;
        if (!before || !put) return text;
        fhir::json::Document after;
        copy_edited(before->root(), edit.path, edit.what == "set" ? &put->root() : nullptr, after.root());
        result = fhir::json::write(after.root());
    }
    return result;
}

}  // namespace nightferry::mapping
