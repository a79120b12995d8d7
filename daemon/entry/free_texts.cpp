#include "daemon/entry/free_texts.hpp"

namespace nightferry::entry {

std::vector<FreeText> free_texts(const Version& version) {
    std::vector<FreeText> texts;
    const auto add = [&](std::string_view field, const std::optional<std::string>& text) {
        if (text) texts.push_back({field, *text});
    };
    add("note", version.content.note);
    if (const auto* not_given = std::get_if<DoseNotGiven>(&version.content.what))
        add("instructed_by", not_given->instructed_by);
    add("reason", version.submission.reason);
    return texts;
}

namespace {

void strip(Entry& entry) {
    entry.note.reset();
    if (auto* not_given = std::get_if<DoseNotGiven>(&entry.what)) not_given->instructed_by.reset();
}

}  // namespace

Version without_free_texts(Version version) {
    strip(version.content);
    if (version.submission.entry) strip(*version.submission.entry);
    version.submission.reason.reset();
    return version;
}

}  // namespace nightferry::entry
